// Files: open, save under a name, begin anew, exports, and the gates of a store.

import { byId, make } from "page/dom";
import { delayOf } from "desk/versions";

export function makeFiles(model) {
  const dialog = byId("files");
  const body = byId("files-body");

  byId("save").addEventListener("click", () => {
    if (model.state.hasFile) model.order("save", { name: null, delay: delayOf(model) });
    else open();
  });
  byId("files-open").addEventListener("click", open);

  async function open() {
    const answer = await model.order("files");
    if (!answer) return;
    body.replaceChildren(saving(), opening(answer.files), exporting(answer.exports ?? []), gates(answer.gates));
    if (!dialog.open) dialog.showModal();
  }

  function act(text, done, attributes = {}) {
    const button = make("button", { type: "button", ...attributes }, text);
    button.addEventListener("click", async () => {
      const answer = await done();
      if (answer) dialog.close();
      else body.querySelector(".error").textContent = model.words;
    });
    return button;
  }

  function saving() {
    const { design, hasFile } = model.state;
    const usual = hasFile ? design : `${design.replaceAll(" ", "-")}.json`;
    const name = make("input", { id: "save-name", value: usual, spellcheck: "false" });
    return make("section", {},
      make("h3", {}, "Save"),
      make("p", { class: "error", role: "alert" }),
      make("label", { for: "save-name" }, "File in the folder of the desk"), name,
      make("div", { class: "row" },
        act("Save", () => model.order("save", { name: name.value, delay: delayOf(model) }), { id: "save-go" }),
        act("New design", () => model.order("new"))),
      make("p", { class: "note" }, "Every step is kept at once, saved or not."));
  }

  function opening(names) {
    const items = names.map((name) => make("li", {}, act(name, () => model.order("open", { name }), { class: "file" })));
    return make("section", {}, make("h3", {}, "Open"),
      items.length ? make("ul", { class: "file-list" }, ...items) : make("p", { class: "note" }, "No layouts or specifications here."));
  }

  function exporting(kinds) {
    const items = kinds.map(([kind, title]) => make("li", {}, act(title, () => exported(kind), { class: "file", "data-export": kind })));
    return make("section", {}, make("h3", {}, "Export"), make("ul", { class: "export-list" }, ...items));
  }

  /** Asks for an export and lets the browser keep it. */
  async function exported(kind) {
    const answer = await model.order("export", { kind });
    if (!answer) return null;
    const bytes = Uint8Array.from(atob(answer.export.data), (sign) => sign.charCodeAt(0));
    const address = URL.createObjectURL(new Blob([bytes]));
    const link = make("a", { href: address, download: answer.export.name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(address), 1000);
    return answer;
  }

  function gates(list) {
    if (!list) return "";
    const items = list.map(({ number, title }) =>
      make("li", {}, act(title, () => model.order("gate", { number }), { class: "file" })));
    return make("section", {}, make("h3", {}, "Gates of the store"), make("ul", { class: "file-list" }, ...items));
  }
}
