// The review: what the simulator says of the design, each finding with its cells, and what is expected.

import { byId, make } from "page/dom";

export function makeReview(model) {
  const form = byId("expected");
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const delay = byId("delay").value.trim();
    model.edit("function", {
      text: byId("function").value,
      delay: delay === "" ? null : Number(delay),
    });
  });
  model.addEventListener("state", () => {
    const { function: text, delay } = model.state;
    if (document.activeElement !== byId("function")) byId("function").value = text;
    if (document.activeElement !== byId("delay")) byId("delay").value = delay ?? "";
    stale(model);
  });
  model.addEventListener("judged", () => model.judged && paint(model));
}

/** Until the verdict on the last edit is there, the old one is marked as such. */
function stale(model) {
  const old = model.judged?.revision !== model.state.revision;
  for (const id of ["verdict", "review", "truth"]) byId(id).classList.toggle("is-stale", old);
}

function paint(model) {
  const { judged } = model;
  byId("verdict").className = `verdict is-${judged.stand}`;
  byId("verdict-words").textContent = judged.words;
  const facts = Object.entries(judged.measures).map(([term, text]) =>
    make("div", {}, make("dt", {}, term), make("dd", {}, text)),
  );
  const parts = [
    ...judged.computes.map((line) => make("p", { class: "formula" }, line)),
    make("dl", { class: "facts" }, ...facts),
  ];
  if (judged.refusal) parts.push(make("p", { class: "error" }, judged.refusal));
  if (judged.stacks !== null) {
    parts.push(make("p", {}, judged.stacks ? "Copies of it stack." : "Copies of it do not stack."));
  }
  const { review } = model;
  parts.push(...(review?.revision === judged.revision ? reviewed(model, review) : [verdict(model, judged.faults)]));
  byId("review").replaceChildren(...parts);
  byId("truth").replaceChildren(...(judged.truth ? [table(model, judged.truth)] : []));
  stale(model);
}

/** The faults of the verdict, until the whole review is there. */
function verdict(model, faults) {
  if (!faults.length) return make("p", { class: "note" }, "No faults. The review goes on.");
  const items = faults.map(({ rule, at, text, means }) =>
    finding(model, { severity: "fault", cells: [at], text, small: `${rule}: ${means}`, remedies: [] }),
  );
  return make("ul", { class: "findings", "aria-label": "Faults" }, ...items);
}

function reviewed(model, { findings, leftOut }) {
  const items = findings.map((one) =>
    finding(model, { ...one, small: one.rule ? `${one.rule}: ${one.means}` : `${one.severity}: ${one.kind}` }),
  );
  const faults = findings.filter(({ severity }) => severity === "fault").length;
  const notes = leftOut.map((text) => make("li", {}, text));
  return [
    make("p", { class: "note" }, faults ? "" : findings.length ? "No faults; but a builder should know:" : "No faults, and nothing else to say."),
    make("ul", { class: "findings", "aria-label": "Findings" }, ...items),
    notes.length ? make("details", {}, make("summary", {}, "What the review did not look at"), make("ul", { class: "note" }, ...notes)) : "",
  ];
}

function finding(model, { severity, cells, text, small, remedies }) {
  const mark = { fault: "!", warning: "?", note: "i" }[severity];
  const button = make("button", { type: "button", class: `finding is-${severity}` },
    make("span", { class: "finding-mark", "aria-hidden": "true" }, mark),
    make("span", {}, text),
    make("small", {}, small));
  button.addEventListener("click", () => model.light(cells));
  // A lesson is to be completed by whoever takes it.
  const cures = (model.state.lesson ? [] : remedies).map((remedy) => {
    const cure = make("button", { type: "button", class: "remedy" }, `${remedy.text}${remedy.passes ? "" : " (mends this, not all)"}`);
    cure.addEventListener("click", () => model.order("edit", { edit: remedy.edit }));
    return make("li", {}, cure);
  });
  return make("li", {}, button, cures.length ? make("ul", { class: "remedies", "aria-label": "Remedies" }, ...cures) : "");
}

/** The truth table; rows that are not as expected say so, and each can be played. */
function table(model, truth) {
  const head = [...truth.inputs, ...truth.outputs, ...(truth.asked ? ["expected"] : [])];
  const rows = truth.rows.map(([, bits, values]) => {
    const met = values.every(([, asked]) => !asked);
    const cells = [
      ...[...bits].map((bit) => make("td", {}, bit)),
      ...values.map(([reads, asked]) =>
        make("td", { class: asked ? "out is-wrong" : "out" }, asked ? `${reads}, not ${asked}` : reads),
      ),
    ];
    if (truth.asked) cells.push(make("td", { class: met ? "is-met" : "is-unmet" }, met ? "met" : "not met"));
    const row = make("tr", {}, ...cells);
    row.addEventListener("click", () => model.state.copies === 1 && model.play.settle(bits));
    return row;
  });
  const note = truth.rows.length < truth.count ? [make("p", { class: "note" }, `${truth.count} rows; those that differ are listed.`)] : [];
  return make("div", { class: "wide", tabindex: 0, role: "group", "aria-label": "Truth table" },
    ...note,
    make("table", { class: "truth" },
      make("thead", {}, make("tr", {}, ...head.map((name) => make("th", { scope: "col" }, name)))),
      make("tbody", {}, ...rows)));
}
