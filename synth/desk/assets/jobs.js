// Jobs that run behind: begun, watched, stopped; each gain is a version to look at and take.

import { byId, make } from "page/dom";

const KINDS = [
  ["smaller", "Smaller", "makes a right layout smaller, step by step"],
  ["mend", "Mend", "finds the fewest changes that make it right"],
  ["prove", "Prove", "asks whether anything smaller exists under the limits it keeps"],
  ["find", "Find one", "finds a layout of the expected function for this box"],
];
const SECONDS = [
  [10, "10 seconds"],
  [60, "a minute"],
  [600, "10 minutes"],
  [3600, "an hour"],
];

export function makeJobs(model) {
  const host = byId("jobs");
  const seconds = make("select", { id: "job-seconds" }, ...SECONDS.map(([value, text]) => make("option", { value }, text)));
  seconds.value = 60;
  const buttons = KINDS.map(([kind, title, does]) => {
    const button = make("button", { type: "button", "data-job": kind, title: does, "aria-label": `${title}: ${does}` }, title);
    button.addEventListener("click", () => model.order("job", { kind, seconds: Number(seconds.value) }));
    return button;
  });
  const list = make("ol", { class: "job-list", "aria-label": "Jobs" });
  host.append(
    make("div", { class: "row" }, ...buttons),
    make("label", {}, "Time at most ", seconds),
    make("p", { class: "note" }, "They begin with the design as it is, leave locked cells alone, and change nothing by themselves: each gain becomes a version."),
    list,
  );
  model.addEventListener("jobs", () => list.replaceChildren(...model.jobs.map((job) => item(model, job))));
}

function item(model, job) {
  const title = KINDS.find(([kind]) => kind === job.kind)[1];
  const parts = [
    make("p", {}, make("b", {}, title), job.over ? ": over" : ": at work"),
    make("p", {}, job.text),
  ];
  const figures = [["best", job.best], ["bound", job.bound], ["gap", job.gap]].filter(([, value]) => value !== null);
  if (figures.length) parts.push(make("p", { class: "note" }, figures.map(([name, value]) => `${name} ${value}`).join(", ")));
  const row = make("div", { class: "row" });
  if (!job.over) {
    const stop = make("button", { type: "button" }, "Stop");
    stop.addEventListener("click", () => model.order("stop", { job: job.number }));
    row.append(stop);
  }
  const last = job.gains.at(-1);
  if (last !== undefined) {
    const look = make("button", { type: "button" }, `Beside: version ${last}`);
    look.addEventListener("click", () => model.order("beside", { version: last }));
    const take = make("button", { type: "button" }, "Take it");
    take.addEventListener("click", () => model.order("take", { version: last }));
    row.append(look, take);
  }
  if (row.childElementCount) parts.push(row);
  return make("li", { class: `job ${job.over ? "is-over" : "is-at-work"}`, "data-kind": job.kind }, ...parts);
}
