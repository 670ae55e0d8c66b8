// The index: hides and sorts rows, and shows the least figures among the layouts that match.
// It is a plain script, because a page that is a file may not load modules.

(() => {
  "use strict";

  const byId = (id) => document.getElementById(id);
  const form = byId("filters");
  const table = byId("gates");
  const body = table.tBodies[0];
  const heads = [...table.tHead.querySelectorAll("[data-key]")];
  const { rows } = JSON.parse(byId("data").textContent);

  // Places in a row of the data, and in a layout of a row.
  const [TEXT, INPUTS, OUTPUTS, LAYOUTS, COLUMNS] = [0, 1, 2, 3, 4];
  const [DELAY, VOLUME, , WIDTH, STACK, JOINT, PROVEN] = [0, 1, 2, 3, 4, 5, 6];

  const gates = [...body.rows].map((row, place) => ({
    place,
    row,
    data: rows[place],
    title: row.cells[0].querySelector("a").textContent.toLowerCase(),
    cells: Object.fromEntries(
      heads.map(({ dataset: { key } }) => [key, row.querySelector(`.c-${key}`)]),
    ),
    figures: {},
  }));
  for (const gate of gates) gate.without = gate.cells.proof.textContent;
  const order = { key: "", down: false };

  const packed = (text) => text.toLowerCase().replace(/\s+/g, "");
  for (const gate of gates) gate.text = `${gate.data[TEXT]}\n${packed(gate.data[TEXT])}`;

  /** Whether a layout keeps every limit that is set. */
  function layoutTest(wanted) {
    const tests = [];
    const upTo = (name, at) => {
      if (wanted[name]) tests.push((l) => l[at] !== null && l[at] <= Number(wanted[name]));
    };
    upTo("delay", DELAY);
    upTo("volume", VOLUME);
    upTo("width", WIDTH);
    if (wanted.stack) tests.push((l) => l[STACK] === Number(wanted.stack));
    if (wanted.joint) tests.push((l) => l[JOINT] === Number(wanted.joint));
    if (wanted.proof === "proven") tests.push((l) => l[PROVEN] === 1);
    if (wanted.proof === "open") tests.push((l) => l[PROVEN] === 0);
    return tests;
  }

  /**
   * How well a gate fits what is typed: 2 where it computes it, 1 where one of its outputs does or
   * its words hold it, else 0.
   */
  function fitOf(text) {
    const words = packed(text);
    const spaced = text.trim().toLowerCase();
    const tables = Expression.tables(text);
    return (gate) => {
      const columns = gate.data[COLUMNS];
      if (tables?.inputs === gate.data[INPUTS]) {
        if (tables.whole.has(columns)) return 2;
        if (columns.split(" ").some((column) => tables.each.has(column))) return 1;
      }
      return Number(!words || gate.text.includes(words) || gate.text.includes(spaced));
    };
  }

  function gateTest(wanted) {
    const fit = fitOf(wanted.text || "");
    for (const gate of gates) gate.fit = fit(gate);
    return (gate) =>
      (!wanted.inputs || gate.data[INPUTS] === Number(wanted.inputs)) &&
      (!wanted.outputs || gate.data[OUTPUTS] === Number(wanted.outputs)) &&
      gate.fit > 0;
  }

  /** The layout that is least by one figure, ties decided by another; null if there is none. */
  const least = (layouts, at, then) => {
    const known = layouts.filter((layout) => layout[at] !== null && layout[then] !== null);
    return known.sort((one, other) => one[at] - other[at] || one[then] - other[then])[0] ?? null;
  };

  /** What is known, in the words of the page as it was made; unchanged for gates without layouts. */
  function proofWords(gate, layouts) {
    const proven = layouts.filter((layout) => layout[PROVEN]).length;
    if (!layouts.length) return gate.without;
    if (proven === layouts.length) return "smallest";
    return proven ? `${proven} of ${layouts.length} smallest` : "best known";
  }

  function show(gate, layouts) {
    const smallest = least(layouts, VOLUME, DELAY);
    const fastest = least(layouts, DELAY, VOLUME);
    const figures = {
      gate: gate.title,
      inputs: gate.data[INPUTS],
      outputs: gate.data[OUTPUTS],
      volume: smallest?.[VOLUME] ?? null,
      "volume-delay": smallest?.[DELAY] ?? null,
      delay: fastest?.[DELAY] ?? null,
      "delay-volume": fastest?.[VOLUME] ?? null,
      layouts: layouts.length,
      proof: proofWords(gate, layouts),
    };
    for (const key of Object.keys(figures).slice(3)) {
      if (gate.figures[key] !== figures[key]) gate.cells[key].textContent = figures[key] ?? "–";
    }
    gate.figures = figures;
    // Sort by the share of proven layouts, the highest first.
    gate.share = layouts.length
      ? layouts.filter((layout) => layout[PROVEN]).length / layouts.length
      : -1;
  }

  function filter() {
    const wanted = Object.fromEntries(new FormData(form));
    const tests = layoutTest(wanted);
    const isGate = gateTest(wanted);
    const none = wanted.proof === "none";
    let shown = 0;
    let counted = 0;
    for (const gate of gates) {
      const all = gate.data[LAYOUTS];
      const layouts = all.filter((layout) => tests.every((test) => test(layout)));
      // A gate without layouts is hidden only by a filter that asks about layouts.
      const fits = none ? !all.length && !tests.length : layouts.length > 0 || !tests.length;
      gate.row.hidden = !(fits && isGate(gate));
      if (gate.row.hidden) continue;
      show(gate, layouts);
      shown += 1;
      counted += layouts.length;
    }
    const many = (count, word) => `${count} ${word}${count === 1 ? "" : "s"}`;
    const of = shown === gates.length ? "" : ` of ${gates.length}`;
    const what = shown === gates.length ? many(shown, "gate") : `${shown}${of} gates`;
    byId("count").textContent = `${what}, ${many(counted, "layout")}`;
    byId("nothing").hidden = shown > 0;
    table.hidden = shown === 0;
    let set = 0;
    for (const field of form.elements) {
      if (!field.name || field.name === "sort") continue;
      field.classList.toggle("is-set", field.value !== "");
      if (field.value && field.name !== "text") set += 1;
    }
    byId("set").textContent = set ? `: ${set} set` : "";
    remember(wanted);
  }

  function compare(one, other) {
    // Gates that compute exactly what is typed come first.
    if (!order.key) return other.fit - one.fit || one.place - other.place;
    const value = (gate) => {
      if (order.key === "proof") return -gate.share;
      const figure = gate.figures[order.key] ?? (gate.cells[order.key].textContent || null);
      return figure === "–" ? null : figure;
    };
    const [a, b] = [value(one), value(other)];
    // Gates without a figure come last in either order.
    if (a === null || b === null) return (a === null) - (b === null) || one.place - other.place;
    const way = typeof a === "string" ? a.localeCompare(b, "en", { numeric: true }) : a - b;
    return (order.down ? -way : way) || one.place - other.place;
  }

  function sort() {
    const shown = gates.filter((gate) => !gate.row.hidden);
    const rest = gates.filter((gate) => gate.row.hidden);
    body.append(...[...shown.sort(compare), ...rest].map((gate) => gate.row));
    for (const head of heads) {
      if (head.dataset.key !== order.key) head.removeAttribute("aria-sort");
      else head.setAttribute("aria-sort", order.down ? "descending" : "ascending");
    }
    form.elements.sort.value = order.key;
  }

  function refresh() {
    filter();
    sort();
  }

  /** Keeps the filters in the address, so that going back from a gate shows the same list. */
  function remember(wanted) {
    const kept = Object.entries(wanted).filter(([name, value]) => value && name !== "sort");
    if (order.key) kept.push(["sort", order.key + (order.down ? "-" : "")]);
    const hash = new URLSearchParams(kept).toString();
    history.replaceState(null, "", hash ? `#${hash}` : location.href.replace(/#.*$/, ""));
  }

  function recall() {
    const kept = new URLSearchParams(location.hash.slice(1));
    for (const [name, value] of kept) {
      const field = form.elements[name];
      if (name === "sort") sortBy(value.replace(/-$/, ""), value.endsWith("-"));
      else if (field) field.value = value;
    }
  }

  function sortBy(key, down) {
    order.key = heads.some((head) => head.dataset.key === key) ? key : "";
    order.down = down;
  }

  const choices = form.elements.sort;
  choices.append(new Option("usual order", ""));
  for (const head of heads) {
    choices.append(new Option(head.dataset.name, head.dataset.key));
    const button = document.createElement("button");
    button.type = "button";
    button.setAttribute("aria-label", `${head.textContent}: sort by ${head.dataset.name}`);
    button.append(...head.childNodes);
    button.addEventListener("click", () => {
      sortBy(head.dataset.key, order.key === head.dataset.key && !order.down);
      refresh();
    });
    head.append(button);
  }

  form.addEventListener("input", (event) => {
    if (event.target === choices) sortBy(choices.value, false);
    refresh();
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", () => {
    sortBy("", false);
    // The fields are empty only after this event.
    setTimeout(refresh);
  });
  byId("clear").addEventListener("click", () => form.reset());
  window.addEventListener("hashchange", () => {
    // A link to a place in the page also changes the address, but no filter.
    if (!location.hash.includes("=")) return;
    for (const field of form.elements) if (field.name) field.value = "";
    recall();
    refresh();
  });
  // A browser may fill in the fields again when the user comes back to the page.
  window.addEventListener("pageshow", refresh);

  // Where there is room the filters are always open; on a phone the list comes first.
  const roomy = window.matchMedia("(min-width: 761px)");
  const unfold = () => (byId("more").open = roomy.matches);
  roomy.addEventListener("change", unfold);
  unfold();

  // Folded parts are open on paper.
  window.addEventListener("beforeprint", () => {
    for (const fold of document.querySelectorAll("details")) fold.open = true;
  });
  window.addEventListener("afterprint", unfold);

  form.hidden = false;
  recall();
  refresh();
  document.body.classList.add("is-ready");
})();
