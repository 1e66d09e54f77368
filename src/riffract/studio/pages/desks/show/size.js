/** Shapes of a film by the names that the settings have for them. */
export const SHAPES = { "16:9": "16 : 9, wide", "9:16": "9 : 16, upright", "1:1": "1 : 1, square", "4:5": "4 : 5" };

/**
 * Says a size as the settings do: by its shape and its short side; by both sides if the shape has no name.
 * @param {string} shape such as `9:16`
 * @param {number} short in px
 * @returns {Record<string, string | number | null>}
 */
export function sized(shape, short) {
  const [wide, high] = shape.split(":").map(Number);
  if (shape in SHAPES) return wide > high ? { shape, width: null, height: short } : { shape, width: short, height: null };
  const even = (/** @type {number} */ px) => 2 * Math.round(px / 2);
  const unit = short / Math.min(wide, high);
  return { shape: null, width: even(wide * unit), height: even(high * unit) };
}

/**
 * Names a picture's shape as the settings do.
 * @param {number} width
 * @param {number} height
 */
export function shapeOf(width, height) {
  const divisor = common(width, height);
  return `${width / divisor}:${height / divisor}`;
}

/** @param {number} a @param {number} b @returns {number} */
function common(a, b) {
  return b === 0 ? a : common(b, a % b);
}
