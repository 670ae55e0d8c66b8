// Text for the model, drawn on canvases.

const CACHE = new Map();

/** A sprite with text; `tone` gives ink, paper and edge. */
export function label(THREE, text, tone, high = 0.3) {
  const key = `${text}|${tone.ink}|${tone.paper}`;
  if (!CACHE.has(key)) CACHE.set(key, texture(THREE, text, tone));
  const { map, ratio } = CACHE.get(key);
  const material = new THREE.SpriteMaterial({ map, transparent: true, depthTest: !tone.onTop });
  const sprite = new THREE.Sprite(material);
  sprite.scale.set(high * ratio, high, 1);
  sprite.renderOrder = tone.onTop ? 5 : 1;
  sprite.raycast = () => {};
  return sprite;
}

function texture(THREE, text, tone) {
  const size = 64;
  const canvas = document.createElement("canvas");
  const context = canvas.getContext("2d");
  const font = `600 ${size * 0.68}px ui-sans-serif, system-ui, sans-serif`;
  context.font = font;
  canvas.width = Math.ceil(Math.max(size, context.measureText(text).width + size * 0.5));
  canvas.height = size;
  context.font = font;
  if (tone.paper) {
    context.fillStyle = tone.paper;
    context.strokeStyle = tone.ink;
    context.lineWidth = 3;
    context.beginPath();
    context.roundRect(2, 2, canvas.width - 4, size - 4, 14);
    context.fill();
    context.stroke();
  }
  context.fillStyle = tone.ink;
  context.textAlign = "center";
  context.textBaseline = "middle";
  context.fillText(text, canvas.width / 2, size / 2 + 2);
  const map = new THREE.CanvasTexture(canvas);
  map.colorSpace = THREE.SRGBColorSpace;
  return { map, ratio: canvas.width / size };
}
