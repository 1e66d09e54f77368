import assert from "node:assert/strict";
import { test } from "node:test";
import { shapeOf, sized } from "../../../src/riffract/studio/pages/desks/show/size.js";

test("a shape is a size in lowest terms", () => {
  assert.equal(shapeOf(1920, 1080), "16:9");
  assert.equal(shapeOf(1080, 1350), "4:5");
  assert.equal(shapeOf(720, 720), "1:1");
});

test("a size is its shape and its short side, so that another shape keeps how fine it is", () => {
  assert.deepEqual(sized("16:9", 360), { shape: "16:9", width: null, height: 360 });
  assert.deepEqual(sized("9:16", 360), { shape: "9:16", width: 360, height: null });
  assert.deepEqual(sized("1:1", 1080), { shape: "1:1", width: 1080, height: null });
});

test("a shape without a name keeps both its sides, even ones", () => {
  assert.deepEqual(sized("32:15", 720), { shape: null, width: 1536, height: 720 });
});
