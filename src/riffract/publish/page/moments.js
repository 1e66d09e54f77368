// @ts-check
// What there is at a moment: pure, no document needed.

/**
 * The last entry that has begun, by halving.
 * @template {readonly [number, ...unknown[]]} Entry
 * @param {readonly Entry[]} entries by time
 * @param {number} seconds
 * @returns {Entry | undefined} none before the first
 */
export function begun(entries, seconds) {
  let low = 0;
  let high = entries.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (entries[middle][0] <= seconds) low = middle + 1;
    else high = middle;
  }
  return entries[low - 1];
}

/**
 * How far something has come up, as in the film: fast at first.
 * @param {number} since seconds
 * @param {number} fade seconds
 */
export function shownShare(since, fade) {
  if (fade <= 0) return since >= 0 ? 1 : 0;
  const left = 1 - Math.min(Math.max(since / fade, 0), 1);
  return 1 - left ** 3;
}

/** @param {number} seconds */
export function clock(seconds) {
  const tenths = Math.round(seconds * 10);
  const rest = tenths % 600;
  return `${Math.floor(tenths / 600)}:${String(Math.floor(rest / 10)).padStart(2, "0")}.${rest % 10}`;
}

/**
 * Reads JSON that was deflated (RFC 1950) and written in Base64.
 * @param {string} text
 * @returns {Promise<any>}
 */
export async function unpacked(text) {
  const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Response(stream).json();
}
