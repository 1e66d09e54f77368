/** So quiet that six strings at once stay below full scale, and nothing bursts into headphones: -18 dBFS each. */
export const PEAK = 0.125;
const SOUNDS_SECONDS = 0.7;
/** Shorter edges click. */
const FADE_IN_SECONDS = 0.004;
const FADE_OUT_SECONDS = 0.25;
/** A dead note is short, and dull as a palm on six strings. */
const CLICKS_SECONDS = 0.06;
const CLICK_ROUNDS = 12;
/** What a string keeps of its sound in each second, roughly: a short, muffled note that is soon out of the way. */
const KEEPS_A_SECOND = 0.02;

/**
 * Makes the sound of a plucked string: a burst of noise that runs round in a loop as long as one period, and
 * loses its high parts on the way.
 *
 * Source: Karplus and Strong, Digital Synthesis of Plucked-String and Drum Timbres, Computer Music Journal 7/2
 * (1983), with the fractional delay of Jaffe and Smith in the same number; from memory.
 * @param {number} hz
 * @param {number} rate samples a second
 * @returns {Float32Array} that begins and ends in silence
 */
export function plucked(hz, rate) {
  const samples = new Float32Array(Math.round(SOUNDS_SECONDS * rate));
  // The averaging of two samples delays by half of one.
  const period = rate / hz - 0.5;
  const whole = Math.floor(period);
  const part = period - whole;
  const loop = noise(whole + 2);
  const keeps = KEEPS_A_SECOND ** (1 / hz);
  for (let i = 0; i < samples.length; i += 1) {
    const at = (/** @type {number} */ back) => (i - back < 0 ? loop[(i - back + loop.length * 2) % loop.length] : samples[i - back]);
    const late = (1 - part) * at(whole) + part * at(whole + 1);
    const later = (1 - part) * at(whole + 1) + part * at(whole + 2);
    samples[i] = (keeps * (late + later)) / 2;
  }
  return levelled(samples, rate);
}

/**
 * Makes the click of a string that the hand holds still: what is left of the noise after it went round a few times.
 * @param {number} rate samples a second
 * @returns {Float32Array} that begins and ends in silence
 */
export function clicked(rate) {
  const samples = noise(Math.round(CLICKS_SECONDS * rate));
  for (let round = 0; round < CLICK_ROUNDS; round += 1) {
    for (let i = samples.length - 1; i > 0; i -= 1) samples[i] = (samples[i] + samples[i - 1]) / 2;
  }
  const dying = samples.map((value, i) => value * Math.exp((-5 * i) / samples.length));
  return levelled(dying, rate, 0.005);
}

/** Noise that is always the same and has no constant part. @param {number} length */
function noise(length) {
  const values = new Float32Array(length);
  let state = 1;
  for (let i = 0; i < length; i += 1) {
    // Park and Miller's minimal standard generator: any even noise will do.
    state = (state * 48271) % 2147483647;
    values[i] = state / 1073741823.5 - 1;
  }
  const mean = values.reduce((sum, value) => sum + value, 0) / length;
  return values.map((value) => value - mean);
}

/** @param {Float32Array} samples @param {number} rate @param {number} [fadeOutSeconds] */
function levelled(samples, rate, fadeOutSeconds = FADE_OUT_SECONDS) {
  const fadeIn = FADE_IN_SECONDS * rate;
  const fadeOut = fadeOutSeconds * rate;
  const faded = samples.map((value, i) => value * Math.min(1, i / fadeIn, (samples.length - 1 - i) / fadeOut));
  const most = faded.reduce((found, value) => Math.max(found, Math.abs(value)), 1e-9);
  return faded.map((value) => (value / most) * PEAK);
}

/** The frequency of a MIDI pitch, A4 at 440 Hz (ISO 16). @param {number} pitch */
export function hzOf(pitch) {
  return 440 * 2 ** ((pitch - 69) / 12);
}
