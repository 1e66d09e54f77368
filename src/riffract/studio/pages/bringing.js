import { Refused } from "./channel.js";

/**
 * Brings a file to the app.
 * @param {string} address
 * @param {Blob} file
 * @param {string} name as the person knows it
 * @returns {Promise<any>} what the app says to it; rejects with `Refused` if it is not taken
 */
export async function bring(address, file, name) {
  const answer = await fetch(address, { method: "PUT", body: file }).catch(() => null);
  if (!answer) {
    const what = `${name} did not arrive: the app does not answer, or the file was moved or changed meanwhile`;
    throw new Refused({ what, mend: "choose it again once the app answers; nothing in the essay has changed", place: "" });
  }
  const isTold = answer.headers.get("content-type")?.includes("json");
  const told = isTold ? await answer.json() : { what: `${name}: ${(await answer.text()).trim()}` };
  if (!answer.ok) throw new Refused({ mend: "", place: "", ...told });
  return told;
}
