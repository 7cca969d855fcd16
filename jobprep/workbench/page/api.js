/** The only module that asks the server for anything. */

/** The server answered that it cannot be done; ``answer`` is what it said. */
export class Refused extends Error {
  constructor(status, answer) {
    super(answer.message ?? `The server refused this (${status}).`);
    this.status = status;
    this.answer = answer;
  }
}

/** Nobody answers. */
export class Away extends Error {}

async function ask(method, address, body) {
  let response;
  try {
    response = await fetch(address, {
      method,
      headers: body ? { "Content-Type": "application/json" } : {},
      body: body ? JSON.stringify(body) : undefined,
    });
  } catch {
    throw new Away("jobprep does not answer.");
  }
  const answer = await response.json().catch(() => ({}));
  if (!response.ok) throw new Refused(response.status, answer);
  return answer;
}

const get = (address, fields = {}) => ask("GET", `${address}?${new URLSearchParams(fields)}`);
const post = (address, body) => ask("POST", address, body);

export const api = {
  folder: () => get("/api/folder"),
  films: (path) => get("/api/films", { beside: path }),
  design: (path) => get("/api/design", { path }),
  edit: (path, digest, edits) => post("/api/edit", { path, digest, edits }),
  facts: (path, digest, edits) => post("/api/facts", { path, digest, edits }),
  undo: (path, digest) => post("/api/undo", { path, digest }),
  redo: (path, digest) => post("/api/redo", { path, digest }),
  create: (design) => post("/api/new", design),
  jobForm: () => get("/api/job/form"),
  job: (path) => get("/api/job", { path }),
  editJob: (path, digest, edits) => post("/api/job/edit", { path, digest, edits }),
  undoJob: (path, digest) => post("/api/job/undo", { path, digest }),
  redoJob: (path, digest) => post("/api/job/redo", { path, digest }),
  rough: (path) => post("/api/job/rough", { path }),
  plan: (path, write) => post("/api/plan", { path, write }),
  work: (id) => get("/api/work", { id }),
  stop: (id) => post("/api/stop", { id }),
  shelf: (path) => get("/api/shelf", { path }),
  undoShelf: (path, number) => post("/api/shelf/undo", { path, number }),
  book: (wanted) => post("/api/book", wanted),
  recut: (wanted) => post("/api/recut", wanted),
  run: (path) => get("/api/run", { path }),
  photo: (which) => get("/api/photo", which),
  correct: (which, digest, edits) => post("/api/photo/correct", { ...which, digest: digest ?? undefined, edits }),
  stepPhoto: (way, which, digest) => post(`/api/photo/${way}`, { ...which, digest }),
  compare: (path, design) => get("/api/photo/compare", { path, design }),
  photoDesign: (wanted) => post("/api/photo/design", wanted),
};

/** Call ``handlers`` by the name of each event; ``lost`` and ``found`` when the stream is. */
export function listen(handlers) {
  const stream = new EventSource("/events");
  for (const name of ["file", "folder", "materials", "work", "ends"]) {
    stream.addEventListener(name, (event) => handlers[name]?.(JSON.parse(event.data || "{}")));
  }
  stream.addEventListener("error", () => handlers.lost?.());
  stream.addEventListener("open", () => handlers.found?.());
  return stream;
}
