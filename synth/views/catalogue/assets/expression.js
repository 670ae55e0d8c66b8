// Boolean expressions, with the operators of IEEE Std 1364 and their precedence: ~, &, ^ (and ~^,
// ^~), |, ?:. An expression that is typed is worked out here as a truth table, and compared with
// those of the gates in every order of the inputs; so the names of inputs do not matter.

const Expression = (() => {
  "use strict";

  const MOST_INPUTS = 6; // all orders of up to this many are tried, as in 'gatefit library find'
  const TOKEN = /\s*(?:([A-Za-z_][\w$]*)|(1'[bB][01])|(~\^|\^~|[~&^|?:()=;]))/y;
  const BINARY = [["|"], ["^", "~^", "^~"], ["&"]];

  function tokensOf(text) {
    const tokens = [];
    TOKEN.lastIndex = 0;
    const end = text.trimEnd().length;
    while (TOKEN.lastIndex < end) {
      const found = TOKEN.exec(text);
      if (!found) throw new SyntaxError("no expression");
      tokens.push({ name: found[1], constant: found[2], sign: found[3] });
    }
    return tokens;
  }

  /** Reads assignments, or one expression: [name or null, tree] pairs. */
  function read(tokens) {
    let at = 0;
    const sign = () => tokens[at]?.sign;
    const take = (wanted) => {
      if (sign() !== wanted) throw new SyntaxError(`no ${wanted}`);
      at += 1;
    };
    function choice() {
      const condition = binary(0);
      if (sign() !== "?") return condition;
      at += 1;
      const yes = choice();
      take(":");
      return ["?", condition, yes, choice()];
    }
    function binary(level) {
      if (level === BINARY.length) return unary();
      let left = binary(level + 1);
      while (BINARY[level].includes(sign())) {
        const operator = sign();
        at += 1;
        left = [operator, left, binary(level + 1)];
      }
      return left;
    }
    function unary() {
      if (sign() === "~") {
        at += 1;
        return ["~", unary()];
      }
      if (sign() === "(") {
        at += 1;
        const inner = choice();
        take(")");
        return inner;
      }
      const token = tokens[at];
      if (!token || token.sign) throw new SyntaxError("no operand");
      at += 1;
      return token.name ? ["name", token.name] : ["constant", token.constant.at(-1) === "1"];
    }
    const found = [];
    while (at < tokens.length) {
      let name = null;
      if (tokens[at].name && tokens[at + 1]?.sign === "=") {
        name = tokens[at].name;
        at += 2;
      }
      found.push([name, choice()]);
      if (at < tokens.length) take(";");
    }
    if (!found.length || (found.length > 1 && found.some(([name]) => name === null))) {
      throw new SyntaxError("no assignments");
    }
    return found;
  }

  function namesIn(tree, into) {
    if (tree[0] === "name") into.add(tree[1]);
    else if (tree[0] !== "constant") tree.slice(1).forEach((part) => namesIn(part, into));
    return into;
  }

  function value(tree, of, depth = 0) {
    if (depth > 200) throw new SyntaxError("too deep, or a loop");
    const part = (index) => value(tree[index], of, depth + 1);
    switch (tree[0]) {
      case "constant": return tree[1];
      case "name": return of(tree[1], depth);
      case "~": return !part(1);
      case "&": return part(1) && part(2);
      case "|": return part(1) || part(2);
      case "^": return part(1) !== part(2);
      case "?": return part(1) ? part(2) : part(3);
      default: return part(1) === part(2); // ~^ and ^~
    }
  }

  /**
   * The tables of what is typed: one string of 0 and 1 an output, in each order of the inputs.
   * Null where it is no expression: a name alone is a name.
   */
  function tables(text) {
    let assignments;
    try {
      const tokens = tokensOf(text.replace(/\bassign\b/g, " "));
      if (!tokens.some((token) => token.sign)) return null;
      assignments = read(tokens);
      const assigned = new Map(assignments);
      const inputs = [...assignments.reduce((all, [, tree]) => namesIn(tree, all), new Set())]
        .filter((name) => !assigned.has(name));
      if (inputs.length > MOST_INPUTS) return null;
      const count = inputs.length;
      const orders = permutations([...inputs.keys()]);
      const plain = assignments.map(([, tree]) =>
        Array.from({ length: 1 << count }, (_, row) => {
          const of = (name, depth) =>
            assigned.has(name)
              ? value(assigned.get(name), of, depth + 1)
              : Boolean((row >> (count - 1 - inputs.indexOf(name))) & 1);
          return value(tree, of) ? "1" : "0";
        }),
      );
      return {
        inputs: count,
        whole: new Set(orders.map((order) => plain.map((c) => reordered(c, order)).join(" "))),
        each: new Set(
          plain.length === 1 ? orders.map((order) => reordered(plain[0], order)) : [],
        ),
      };
    } catch {
      return null;
    }
  }

  function permutations(items) {
    if (items.length < 2) return [items];
    return items.flatMap((item, at) =>
      permutations(items.toSpliced(at, 1)).map((rest) => [item, ...rest]),
    );
  }

  /** A column reordered so that its input `i` is the former input `order[i]`. */
  function reordered(column, order) {
    const count = order.length;
    let text = "";
    for (let row = 0; row < column.length; row += 1) {
      let old = 0;
      for (let at = 0; at < count; at += 1) {
        if ((row >> (count - 1 - at)) & 1) old |= 1 << (count - 1 - order[at]);
      }
      text += column[old];
    }
    return text;
  }

  return { tables };
})();
