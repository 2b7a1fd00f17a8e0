// Questions to the server, in JSON. A fault comes back as an ApiFault with the rows that the command would print.

export class ApiFault extends Error {
  constructor(body, status) {
    super(body.faults?.map((fault) => fault.sentence).join(" ") || `the server answered ${status}`);
    this.faults = body.faults ?? [];
    this.status = status;
  }
}

async function answer(response) {
  const body = await response.json().catch(() => ({}));
  if (!response.ok) throw new ApiFault(body, response.status);
  return body;
}

export async function ask(path) {
  return answer(await fetch(path, { headers: { accept: "application/json" } }));
}

export async function tell(path, body = {}) {
  const options = { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) };
  return answer(await fetch(path, options));
}
