// The atlas: shows the answers to one kind of question at a time, and hides rows.
// It is a plain script, because a page that is a file may not load modules.

(() => {
  "use strict";

  const byId = (id) => document.getElementById(id);
  const form = byId("filters");
  const body = byId("atlas").tBodies[0];
  const heads = [...byId("atlas").tHead.rows[0].cells].slice(1, -1);
  const { sizes, signs, rows } = JSON.parse(byId("data").textContent);

  const link = (href, text) => {
    const made = document.createElement("a");
    made.href = href;
    made.textContent = text;
    return made;
  };

  /** Whether a layout of one size lies within another. */
  const within = (size, most) => size.every((side, axis) => side <= most[axis]);

  /** The columns in which some row has a sign. */
  const columnsOf = (shown) =>
    new Set(shown.flatMap(([, [column, , , , out]]) => (column === null ? out : [column, ...out])));

  function rowOf([title, slug], [column, sign, delay, href, out, known], columns) {
    const row = document.createElement("tr");
    const head = document.createElement("th");
    head.scope = "row";
    head.append(link(`gates/${slug}.html`, title));
    row.append(head);
    for (let at = 0; at < sizes.length; at += 1) {
      if (!columns.has(at)) continue;
      const cell = row.insertCell();
      if (at === column) {
        cell.className = `is-${sign}`;
        cell.append(link(href, `${signs[sign]} ${delay}`));
      } else if (out.includes(at)) {
        cell.className = "is-out";
        cell.textContent = signs.out;
      }
    }
    const last = row.insertCell();
    last.className = "known";
    last.textContent = known;
    return row;
  }

  function shownBy(wanted) {
    const text = (wanted.text || "").trim().toLowerCase();
    const most = wanted.fits ? sizes[Number(wanted.fits)] : null;
    return rows.flatMap((gate) => {
      const [, , words, inputs, answers] = gate;
      const answer = answers[wanted.ask];
      if (!answer) return [];
      if (wanted.inputs && inputs !== Number(wanted.inputs)) return [];
      if (text && !words.includes(text)) return [];
      if (most && (answer[0] === null || !within(sizes[answer[0]], most))) return [];
      return [[gate, answer]];
    });
  }

  /** Functions in the order of their boxes; those without a layout come last. */
  const place = ([, [column]]) => column ?? sizes.length;

  function refresh() {
    const wanted = Object.fromEntries(new FormData(form));
    const shown = shownBy(wanted).sort((one, other) => place(one) - place(other));
    const columns = columnsOf(shown);
    for (const [at, head] of heads.entries()) head.hidden = !columns.has(at);
    body.replaceChildren(...shown.map(([gate, answer]) => rowOf(gate, answer, columns)));
    const fit = shown.filter(([, [column]]) => column !== null).length;
    const many = (count, word) => `${count} ${word}${count === 1 ? "" : "s"}`;
    byId("count").textContent = `${many(shown.length, "function")}, ${fit} with a layout`;
    byId("asked").textContent = form.elements.ask.selectedOptions[0]?.text ?? "";
    const kept = Object.entries(wanted).filter(([, value]) => value);
    history.replaceState(null, "", `#${new URLSearchParams(kept)}`);
  }

  for (const [name, value] of new URLSearchParams(location.hash.slice(1))) {
    if (form.elements[name]) form.elements[name].value = value;
  }
  if (!form.elements.ask.value && form.elements.ask.options.length) {
    form.elements.ask.selectedIndex = 0;
  }
  form.addEventListener("input", refresh);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.hidden = false;
  refresh();
  document.body.classList.add("is-ready");
})();
