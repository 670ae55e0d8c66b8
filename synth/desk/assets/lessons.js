// Lessons: a layout to be completed, judged by the simulator.

import { byId, make } from "page/dom";

export function makeLessons(model) {
  const dialog = byId("lessons");
  byId("lessons-open").addEventListener("click", async () => {
    const answer = await model.order("lessons");
    if (!answer) return;
    const items = answer.lessons.map(({ name, title, done }, index) => {
      const button = make("button", { type: "button", class: "file" }, `${index + 1}. ${title}${done ? ", done" : ""}`);
      button.addEventListener("click", () => model.order("open", { name }).then(() => dialog.close()));
      return make("li", {}, button);
    });
    byId("lessons-body").replaceChildren(make("ol", { class: "file-list" }, ...items));
    dialog.showModal();
  });
  byId("lesson-next").addEventListener("click", () => {
    const { next } = model.state.lesson;
    if (next) model.order("open", { name: next });
    else byId("lessons-open").click();
  });
  model.addEventListener("state", () => {
    const { lesson } = model.state;
    byId("lesson").hidden = !lesson;
    if (!lesson) return;
    byId("lesson").classList.toggle("is-done", lesson.done);
    byId("lesson-title").textContent = `${lesson.number}. ${lesson.title}`;
    byId("lesson-words").replaceChildren(...lesson.words.map((text) => make("p", {}, text)));
    byId("lesson-stand").textContent = lesson.done
      ? "\u2713 Done: the simulator passes it."
      : `Not yet: ${model.state.function}${model.state.delay === null ? "" : ` within ${model.state.delay} ticks`}.`;
    byId("lesson-next").textContent = lesson.next ? "Next lesson" : "All lessons";
  });
}
