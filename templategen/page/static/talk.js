// Questions to the server. The secret comes with the start address, behind the #, and is kept for this window only.

const KEPT = "templategen-secret";

function secret() {
  if (location.hash.length > 1) {
    sessionStorage.setItem(KEPT, location.hash.slice(1));
    history.replaceState(null, "", location.pathname);
  }
  return sessionStorage.getItem(KEPT) || "";
}

const held = secret();

export class Refused extends Error {
  constructor(status, data) {
    super(data.error || "the server gave no answer");
    this.status = status;
    this.data = data;
  }
}

const PATIENCE = 6000; // ms without an answer until somebody is told

async function fetched(path, more) {
  const waits = setTimeout(() => document.dispatchEvent(new Event("no-answer")), PATIENCE);
  try {
    return await fetch(path, { ...more, headers: { ...more.headers, Authorization: `Bearer ${held}` } });
  } catch {
    throw new Refused(0, { error: "templategen has been closed: nothing typed since the last save is on the disk. Start it again, then save from here by copying the text." });
  } finally {
    clearTimeout(waits);
  }
}

/** Ask a question; the answer as data. Throws Refused. */
export async function ask(question, given = {}) {
  const answer = await fetched(`/ask/${question}`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(given),
  });
  const data = await answer.json();
  if (!answer.ok) throw new Refused(answer.status, data);
  return data;
}

async function file(job, name) {
  const answer = await fetched(`/results/${encodeURIComponent(job)}/${encodeURIComponent(name)}`, { method: "GET" });
  if (!answer.ok) throw new Refused(answer.status, await answer.json());
  return answer;
}

/** One result file as an address that the browser can show or save. */
export async function result(job, name) {
  return URL.createObjectURL(await (await file(job, name)).blob());
}

/** A drawing among the results as a picture: hairlines, which a machine wants, drawn as wide as an eye wants. */
export async function resultPicture(job, name) {
  const text = await (await file(job, name)).text();
  return `data:image/svg+xml;utf8,${encodeURIComponent(text.replaceAll('stroke-width="0.01"', 'stroke-width="0.35"'))}`;
}
