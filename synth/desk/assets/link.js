// The line to the server: orders go out with a number, answers come back with it. When the line
// breaks it is tried again until it holds.

const FIRST_WAIT_MS = 300;
const LONGEST_WAIT_MS = 5000;

export class Link extends EventTarget {
  constructor() {
    super();
    this.number = 0;
    this.waiting = new Map();
    this.wait = FIRST_WAIT_MS;
    this.connect();
  }

  get open() {
    return this.socket.readyState === WebSocket.OPEN;
  }

  connect() {
    const address = new URL("talk", location.href);
    address.protocol = "ws:";
    address.search = address.hash = "";
    this.socket = new WebSocket(address);
    this.socket.addEventListener("open", () => {
      this.wait = FIRST_WAIT_MS;
      this.dispatchEvent(new Event("open"));
    });
    this.socket.addEventListener("message", (event) => this.hear(JSON.parse(event.data)));
    this.socket.addEventListener("close", () => this.lost());
  }

  lost() {
    for (const { fail } of this.waiting.values()) fail(new Error("the line broke"));
    this.waiting.clear();
    this.dispatchEvent(new Event("lost"));
    setTimeout(() => this.connect(), this.wait);
    this.wait = Math.min(2 * this.wait, LONGEST_WAIT_MS);
  }

  hear(message) {
    const asked = this.waiting.get(message.re);
    if (asked) {
      this.waiting.delete(message.re);
      if (message.error !== undefined) asked.fail(new Error(message.error));
      else asked.done(message);
    } else this.dispatchEvent(new CustomEvent("told", { detail: message }));
  }

  /** Gives an order; the answer, or an error that says in a sentence what is wrong. */
  ask(order, values = {}) {
    if (!this.open) return Promise.reject(new Error("the server does not answer just now"));
    this.number += 1;
    const number = this.number;
    return new Promise((done, fail) => {
      this.waiting.set(number, { done, fail });
      this.socket.send(JSON.stringify({ n: number, do: order, ...values }));
    });
  }
}
