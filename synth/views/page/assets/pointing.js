// Pointing at the model: a mouse hovers, clicks and drags; keys turn it; a finger taps, and turns
// it only after it was held still, or while the button is pressed. Otherwise it scrolls the page.

import { byId } from "page/dom";

const TURN = Math.PI / 24;
const HOLD_MS = 350;
const STILL_PX = 8;
const RADIANS_PER_PX = 0.008;

export function makePointing(scene, host, picks) {
  const { camera } = scene;
  const canvas = scene.renderer.domElement;
  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  let pressed = null;
  host.addEventListener("pointermove", (event) => {
    if (event.pointerType === "mouse" && !event.buttons) picks.hover(scene.hit(...at(event)), host);
  });
  host.addEventListener("pointerleave", () => {
    picks.hover(null);
    camera.controls.enableZoom = false;
  });
  // The wheel scrolls the page until the model has been touched.
  host.addEventListener(
    "pointerdown",
    (event) => {
      const touch = event.pointerType === "touch";
      camera.controls.enabled = !touch;
      camera.controls.enableZoom = true;
      pressed = [event.clientX, event.clientY];
      if (!touch) host.focus({ preventScroll: true });
    },
    true,
  );
  host.addEventListener("pointerup", (event) => {
    if (!pressed) return;
    const moved = Math.hypot(event.clientX - pressed[0], event.clientY - pressed[1]);
    if (moved < 6) picks.select(scene.hit(...at(event)), host, () => scene.faceAt(...at(event)));
    pressed = null;
  });
  makeTouch(camera, host);
  makeKeys(scene, host);
}

function makeTouch(camera, host) {
  const button = byId("hold");
  let always = false;
  let held = false;
  let timer = null;
  let last = null;
  let began = 0;
  let turned = false;
  let apart = 0;
  const stance = () => {
    button.setAttribute("aria-pressed", String(always));
    host.classList.toggle("is-held", held || always);
    host.style.touchAction = always ? "none" : "pan-y";
    host.firstElementChild.style.touchAction = host.style.touchAction;
  };
  const finger = ({ touches }) => [touches[0].clientX, touches[0].clientY];
  const spread = ({ touches: [one, other] }) =>
    Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
  button.addEventListener("click", () => {
    always = !always;
    stance();
  });
  host.addEventListener(
    "touchstart",
    (event) => {
      last = finger(event);
      [began, turned] = [event.timeStamp, false];
      if (event.touches.length === 2) apart = spread(event);
      clearTimeout(timer);
      if (event.touches.length === 1) {
        timer = setTimeout(() => {
          held = true;
          stance();
        }, HOLD_MS);
      }
    },
    { passive: true },
  );
  host.addEventListener(
    "touchmove",
    (event) => {
      const now = finger(event);
      const moved = [now[0] - last[0], now[1] - last[1]];
      // On a slow machine the timer may fire before an earlier move is handled.
      if (held && !turned && event.timeStamp - began < HOLD_MS) {
        held = false;
        stance();
      }
      if (!held && !always) {
        if (Math.hypot(...moved) > STILL_PX) clearTimeout(timer);
        return;
      }
      // When the browser has begun to scroll, the move belongs to it.
      if (!event.cancelable) return;
      event.preventDefault();
      turned = true;
      if (event.touches.length === 2) {
        const wide = spread(event);
        camera.zoom(apart / wide);
        apart = wide;
      } else camera.turn(-moved[0] * RADIANS_PER_PX, -moved[1] * RADIANS_PER_PX);
      last = now;
    },
    { passive: false },
  );
  const release = () => {
    clearTimeout(timer);
    held = false;
    stance();
  };
  host.addEventListener("touchend", release);
  host.addEventListener("touchcancel", release);
  // Holding a finger still should not open a menu.
  host.addEventListener("contextmenu", (event) => held && event.preventDefault());
  stance();
}

function makeKeys(scene, host) {
  const { camera } = scene;
  for (const button of document.querySelectorAll("[data-view]")) {
    button.addEventListener("click", () => camera.look(button.dataset.view));
  }
  for (const button of document.querySelectorAll("[data-zoom]")) {
    button.addEventListener("click", () => camera.zoom(button.dataset.zoom === "in" ? 0.8 : 1.25));
  }
  host.addEventListener("keydown", (event) => {
    const turns = {
      ArrowLeft: [-TURN, 0],
      ArrowRight: [TURN, 0],
      ArrowUp: [0, -TURN],
      ArrowDown: [0, TURN],
    };
    if (turns[event.key]) camera.turn(...turns[event.key]);
    else if (event.key === "+" || event.key === "=") camera.zoom(0.85);
    else if (event.key === "-") camera.zoom(1.18);
    else if (event.key === "PageUp") scene.slice(1);
    else if (event.key === "PageDown") scene.slice(-1);
    else if (event.key === "Home") camera.look("corner");
    else return;
    event.preventDefault();
  });
}
