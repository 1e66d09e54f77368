import assert from "node:assert/strict";
import { test } from "node:test";

import { PEAK, clicked, hzOf, plucked } from "../../../src/riffract/studio/pages/pluck.js";

const RATE = 48000;

/** Finds the period of a sound, in samples, where it is most like itself (autocorrelation, with a parabola). */
function periodOf(samples, near) {
  const part = samples.subarray(Math.round(0.05 * RATE), Math.round(0.35 * RATE));
  const alike = (/** @type {number} */ lag) => {
    let sum = 0;
    for (let i = 0; i + lag < part.length - 40; i += 1) sum += part[i] * part[i + lag];
    return sum;
  };
  let best = Math.round(near * 0.97);
  for (let lag = best; lag <= near * 1.03; lag += 1) if (alike(lag) > alike(best)) best = lag;
  const [a, b, c] = [alike(best - 1), alike(best), alike(best + 1)];
  return best + (a - c) / (2 * (a - 2 * b + c));
}

// ISO 16: A4 is 440 Hz. Equal temperament: an octave doubles, a semitone is the twelfth root of 2.
test("pitches have the frequencies of equal temperament", () => {
  assert.equal(hzOf(69), 440);
  assert.ok(Math.abs(hzOf(40) - 82.4069) < 1e-4);
});

test("a plucked string sounds its pitch within 5 cents, from the lowest string to the 24th fret", () => {
  for (const pitch of [28, 35, 40, 45, 50, 55, 64, 76, 88]) {
    const wanted = RATE / hzOf(pitch);
    const cents = 1200 * Math.log2(wanted / periodOf(plucked(hzOf(pitch), RATE), wanted));
    assert.ok(Math.abs(cents) < 5, `pitch ${pitch} is off by ${cents.toFixed(1)} cents`);
  }
});

test("it begins and ends in silence, without a step, and no louder than it may be", () => {
  for (const pitch of [28, 64, 88]) {
    const samples = plucked(hzOf(pitch), RATE);
    const most = samples.reduce((found, value) => Math.max(found, Math.abs(value)), 0);
    assert.ok(Math.abs(most - PEAK) < 1e-6);
    assert.equal(Math.abs(samples[0]), 0);
    assert.ok(Math.abs(samples[samples.length - 1]) < 1e-6);
    const first = samples.subarray(0, 24).reduce((found, value) => Math.max(found, Math.abs(value)), 0);
    assert.ok(first < PEAK / 4, "the first half millisecond is a click");
    assert.ok(6 * PEAK < 1);
  }
});

test("a dead note is short, begins and ends in silence, and is dull", () => {
  const samples = clicked(RATE);
  assert.ok(samples.length < 0.1 * RATE);
  assert.equal(Math.abs(samples[0]), 0);
  assert.ok(Math.abs(samples[samples.length - 1]) < 1e-6);
  const most = samples.reduce((found, value) => Math.max(found, Math.abs(value)), 0);
  assert.ok(Math.abs(most - PEAK) < 1e-6);
  // White noise crosses zero at every second sample; what is below 4 kHz at fewer than a sixth.
  const crossings = samples.filter((value, i) => i > 0 && value * samples[i - 1] < 0).length;
  assert.ok(crossings < samples.length / 6, `${crossings} of ${samples.length}`);
});
