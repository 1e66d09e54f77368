/**
 * Exact numbers, as the app writes them: `7/2`, `4`.
 * @typedef {{top: number, bottom: number}} Fraction
 */

/** @param {string} text @returns {Fraction} */
export function fraction(text) {
  const [top, bottom = "1"] = text.split("/");
  return reduced(Number(top), Number(bottom));
}

/** @param {Fraction} value */
export function textOf({ top, bottom }) {
  return bottom === 1 ? String(top) : `${top}/${bottom}`;
}

/** @param {Fraction} value */
export function numberOf({ top, bottom }) {
  return top / bottom;
}

/** @param {Fraction} a @param {Fraction} b */
export function plus(a, b) {
  return reduced(a.top * b.bottom + b.top * a.bottom, a.bottom * b.bottom);
}

/** @param {Fraction} a @param {Fraction} b */
export function minus(a, b) {
  return plus(a, { top: -b.top, bottom: b.bottom });
}

/** Says whether `a` comes before, at, or after `b`: below 0, 0, above 0.
 * @param {Fraction} a @param {Fraction} b */
export function compare(a, b) {
  return a.top * b.bottom - b.top * a.bottom;
}

/** @param {number} top @param {number} bottom @returns {Fraction} */
function reduced(top, bottom) {
  const divisor = common(Math.abs(top), Math.abs(bottom)) || 1;
  const sign = bottom < 0 ? -1 : 1;
  return { top: (sign * top) / divisor, bottom: (sign * bottom) / divisor };
}

/** @param {number} a @param {number} b @returns {number} */
function common(a, b) {
  return b === 0 ? a : common(b, a % b);
}
