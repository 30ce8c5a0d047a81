// Asking the desk: every request carries the token of this start.

const token = document.querySelector('meta[name="desk-token"]').content;

/** What the desk said when it did not do what was asked. */
export class Trouble extends Error {
  constructor(status, told) {
    super([told.problem, told.remedy].filter(Boolean).join(" "));
    this.status = status;
    this.told = told;
  }
}

async function answer(response) {
  const told = await response.json().catch(() => ({ problem: "The desk gave no answer that can be read.", remedy: "Load the page again." }));
  if (!response.ok) throw new Trouble(response.status, told);
  return told;
}

async function ask(path, options) {
  let response;
  try {
    response = await fetch(path, options);
  } catch {
    throw new Trouble(0, { problem: "The desk is closed.", remedy: "Start it again, then load this page." });
  }
  return answer(response);
}

/** Ask for something. */
export const get = (path) => ask(path, { headers: { "x-desk-token": token } });

/** Tell the desk something. */
export function post(path, told = {}, more = {}) {
  const headers = { "x-desk-token": token, "content-type": "application/json", ...more };
  return ask(path, { method: "POST", headers, body: JSON.stringify(told) });
}

/** Send a file; `progress` is called with the part sent, 0 to 1. */
export function send(kind, file, progress) {
  return new Promise((done, failed) => {
    const request = new XMLHttpRequest();
    request.open("POST", `/api/upload?kind=${kind}&name=${encodeURIComponent(file.name)}`);
    request.setRequestHeader("x-desk-token", token);
    request.setRequestHeader("content-type", "application/octet-stream");
    request.upload.addEventListener("progress", (event) => progress(event.loaded / Math.max(1, event.total)));
    request.addEventListener("load", () => {
      let told = {};
      try { told = JSON.parse(request.responseText); } catch { /* told below */ }
      if (request.status === 200) done(told);
      else failed(new Trouble(request.status, told.problem ? told : { problem: "The file could not be taken.", remedy: "Try again." }));
    });
    request.addEventListener("error", () => failed(new Trouble(0, { problem: "The file did not arrive.", remedy: "Look whether the desk is still open." })));
    request.send(file);
  });
}

/** Read a finished file as text. */
export async function text(path) {
  const response = await fetch(path);
  if (!response.ok) throw new Trouble(response.status, { problem: "This file is not there yet.", remedy: "Load the page again." });
  return response.text();
}
