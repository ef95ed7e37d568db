// What the page asks of the server on this machine.

export class Refused extends Error {
  constructor(answer) {
    super(answer.message);
    this.faults = answer.faults ?? [];
  }
}

// What this tab does is told to the others; it knows its own events by this name.
const TAB = Math.random().toString(36).slice(2);

async function asked(method, path, body) {
  const request = { method, headers: {} };
  if (body instanceof FormData) {
    request.body = body;
  } else if (body !== undefined) {
    request.headers["Content-Type"] = "application/json";
    request.body = JSON.stringify(body);
  }
  let response;
  try {
    response = await fetch(path, request);
  } catch {
    throw new Refused({ message: "The server does not answer. Start `marker serve` again: what was laid and written is stored." });
  }
  const answer = (response.headers.get("Content-Type") ?? "").includes("json")
    ? await response.json() : { message: await response.text() };
  if (!response.ok) throw new Refused(answer);
  return answer;
}

export const isOwn = (event) => event.by === TAB;
export const get = (path) => asked("GET", path);
export const post = (path, body = {}) => asked("POST", path, { ...body, tab: TAB });
export const sendForm = (path, form) => {
  form.set("tab", TAB);
  return asked("POST", path, form);
};

export function jobPath(id, ...rest) {
  return ["/api/jobs", encodeURIComponent(id), ...rest].join("/");
}
