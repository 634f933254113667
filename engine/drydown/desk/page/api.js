// What the page asks of the desk's server. One edit is sent after the other; what it refuses is thrown as one line.

async function sent(path, options = {}) {
  let reply;
  try {
    reply = await fetch(path, { credentials: "same-origin", ...options });
  } catch {
    throw new Error("The desk does not answer. Start it again with `drydown desk`: nothing of the wall is lost.");
  }
  const kind = reply.headers.get("content-type") || "";
  const body = kind.includes("json") ? await reply.json() : await reply.text();
  if (reply.ok) return body;
  const failure = new Error(kind.includes("json") ? body.error : body.trim() || `${reply.status}`);
  failure.status = reply.status;
  throw failure;
}

let last = Promise.resolve();
function inTurn(act) {
  const next = last.then(act, act);
  last = next.catch(() => {});
  return next;
}

export const get = (path) => sent(path);
export const post = (path, body = {}) =>
  inTurn(() => sent(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) }));
export const attach = (file) =>
  inTurn(() => sent(`/api/attach?name=${encodeURIComponent(file.name)}`, {
    method: "POST", headers: { "Content-Type": "application/octet-stream" }, body: file,
  }));
export const search = (words, kind, limit = 30) =>
  get(`/api/search?words=${encodeURIComponent(words)}&kind=${kind}&limit=${limit}`);
export const entry = (name) => get(`/api/entry?name=${encodeURIComponent(name)}`);

/** Listen to what the server tells: `heard(event, data)`. */
export function listen(heard) {
  const source = new EventSource("/api/events");
  for (const name of ["state", "job", "answer", "cards", "end"]) {
    source.addEventListener(name, (event) => heard(name, JSON.parse(event.data || "{}")));
  }
  source.addEventListener("open", () => heard("open", {}));
  source.addEventListener("error", () => heard("lost", {}));
  window.addEventListener("pagehide", () => source.close());
}
