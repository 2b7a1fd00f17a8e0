// Questions to the server, in JSON. A fault comes back as an ApiFault with the rows that the command would print; status 0
// where nobody answers.

export class ApiFault extends Error {
  constructor(body, status) {
    super(body.faults?.map((fault) => fault.sentence).join(" ") || `the server answered ${status}`);
    this.faults = body.faults ?? [];
    this.status = status;
  }
}

async function answer(path, options) {
  const response = await fetch(path, options).catch(() => {
    throw new ApiFault({ faults: [{ sentence: "The program does not answer.", what: "the program does not answer" }] }, 0);
  });
  const body = await response.json().catch(() => ({}));
  if (!response.ok) throw new ApiFault(body, response.status);
  return body;
}

export async function ask(path) {
  return answer(path, { headers: { accept: "application/json" } });
}

export async function tell(path, body = {}) {
  const options = { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) };
  return answer(path, options);
}

/** Bytes, and the headers that came with them: { body, head(name) }. An answer in words instead rejects with an ApiFault. */
export async function askBytes(path) {
  const response = await fetch(path).catch(() => {
    throw new ApiFault({ faults: [{ sentence: "The program does not answer.", what: "the program does not answer" }] }, 0);
  });
  const told = response.headers.get("content-type")?.includes("json");
  if (!response.ok || told) throw new ApiFault(await response.json().catch(() => ({})), response.status);
  return { body: await response.arrayBuffer(), head: (name) => response.headers.get(name) };
}
