import assert from "node:assert/strict";
import { mock, test } from "node:test";

import { Refused, openChannel } from "../../../src/riffract/studio/pages/channel.js";

/** A wire whose other end is the test's. */
class Wire {
  static OPEN = 1;
  readyState = 0;
  /** @type {string[]} */
  sent = [];
  onopen = () => {};
  onclose = () => {};
  /** @param {{data: string}} _message */
  onmessage(_message) {}

  constructor() {
    wires.push(this);
  }

  /** @param {string} message */
  send(message) {
    this.sent.push(message);
  }

  open() {
    this.readyState = Wire.OPEN;
    this.onopen();
  }
}

/** @type {Wire[]} */
let wires = [];

function opened() {
  wires = [];
  mock.timers.enable({ apis: ["setTimeout"] });
  globalThis.WebSocket = /** @type {any} */ (Wire);
  return openChannel("ws://there");
}

test("what is asked before the app answers is sent once it does", () => {
  const channel = opened();
  channel.ask("hello");
  assert.deepEqual(wires[0].sent, []);
  wires[0].open();
  assert.deepEqual(wires[0].sent, ['{"id":1,"do":"hello","with":{}}']);
  mock.timers.reset();
});

test("what was refused because the app is gone is not done when it comes back", async () => {
  const channel = opened();
  const asked = channel.ask("text.set", { text: "lost" });
  wires[0].onclose();
  await assert.rejects(asked, Refused);
  mock.timers.tick(200);
  wires[1].open();
  assert.deepEqual(wires[1].sent, []);
  mock.timers.reset();
});
