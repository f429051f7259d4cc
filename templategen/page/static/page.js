// One job at a time: its text is the truth, fields and drawings follow it.

import { Refused, ask, result, resultPicture } from "./talk.js";
import { Fields, made, told } from "./fields.js";

const byId = (id) => document.getElementById(id);
const NAMES = { board: "Board", nut: "Nut, seen from the bridge", line: "String line", clearance: "Where it may buzz", cents: "How it will sound, in cents" };

const job = { name: "", text: "", mark: "", saved: "", view: null, stale: false };
let form, fields, asked = 0, run = "";

// ------------------------------------------------------------------------------------------------------------- start

async function begin() {
  try {
    form = await ask("form");
  } catch (error) {
    state(error.message, true);
    return;
  }
  fields = new Fields(byId("fields"), form.places, typed);
  wire();
  if (form.spec) await open(form.spec);
  else await start();
}

async function start() {
  byId("bench").hidden = byId("acts").hidden = true;
  byId("start").hidden = false;
  byId("title").textContent = "templategen";
  let folder, files, surveys;
  try {
    ({ folder, files, surveys } = await ask("files"));
  } catch (error) {
    state(error.message, true);
    return;
  }
  state("");
  byId("where").textContent = folder;
  const specs = files.filter((each) => each.kind === "spec");
  const list = made("ul", { class: "jobs" }, ...specs.map((each) => made("li", {},
    made("button", { type: "button", onclick: () => open(each.name) }, made("strong", {}, each.title || each.name), " ", made("span", {}, each.name)))));
  byId("listed").replaceChildren(specs.length ? list : made("p", {}, "There is no spec in this folder yet."));
  byId("draft-survey").replaceChildren(made("option", { value: "" }, "choose"), ...surveys.map((each) => made("option", { value: each.name }, `${each.title} (${each.name})`)));
  byId("draft-none").hidden = surveys.length > 0;
  for (const part of byId("draft").querySelectorAll("label, button")) part.hidden = !surveys.length;
  byId("draft-judged").replaceChildren();
  byId("draft-name").value = "";
  document.title = "templategen";
  window.scrollTo(0, 0);
}

async function judged() {
  const survey = byId("draft-survey").value;
  const box = byId("draft-judged");
  box.replaceChildren();
  if (!survey) return;
  byId("draft-name").value = survey.replace(/^.*\//, "").replace(/(-survey)?\.toml$/, "-found.toml");
  try {
    const { judged } = await ask("survey", { survey });
    box.replaceChildren(...judged.map((each) => (each.level === "decide" ? told(each) : made("p", { class: "told" }, each.message))));
  } catch (error) {
    box.replaceChildren(made("p", { class: "told problem" }, error.message));
  }
}

async function drafted(event) {
  event.preventDefault();
  try {
    const { name } = await ask("draft", { survey: byId("draft-survey").value, name: byId("draft-name").value });
    await open(name);
    state("begun from the survey: look at every line that says it was not measured", false);
  } catch (error) {
    state(error.message, true);
  }
}

async function open(name) {
  try {
    const { text, mark } = await ask("read", { name });
    Object.assign(job, { name, text, mark, saved: text, view: null, stale: false });
  } catch (error) {
    state(error.message, true);
    return;
  }
  byId("start").hidden = true;
  byId("bench").hidden = byId("acts").hidden = false;
  byId("where").textContent = name;
  byId("drawn").replaceChildren();
  try {
    show(await ask("view", { name, text: job.text }), true);
  } catch (error) {
    state(error.message, true);
  }
  byId("job").focus();
}

// -------------------------------------------------------------------------------------------------------- following

async function typed(path, given) {
  await follow("change", { path, given });
}

async function follow(question, more) {
  const number = ++asked;
  try {
    const seen = await ask(question, { name: job.name, text: job.text, ...more });
    if (seen.text !== undefined) job.text = seen.text;
    if (number === asked) show(seen);
  } catch (error) {
    state(error.message, true);
  }
}

function show(seen, fresh = false) {
  job.view = seen;
  const text = byId("text");
  if (document.activeElement !== text) text.value = job.text;
  byId("title").textContent = seen.values?.title ?? job.name;
  document.title = `${job.text === job.saved ? "" : "* "}${seen.values?.title ?? job.name}`;
  if (seen.values) fields.show(seen.values, seen.comments, fresh);
  const rest = fields.say(seen.problems, seen.findings);
  if (!seen.values) rest.push(...seen.problems.map((each) => ({ ...each, level: "problem" })));
  const deciding = seen.findings.filter((each) => each.level === "decide").length;
  byId("told").replaceChildren(...(seen.problems.length || rest.length ? [made("div", { role: "group", "aria-label": "Told about the whole job" }, ...lines(seen.problems), ...rest.filter((each) => !each.line || each.level !== "problem").map(told))] : []));
  state(seen.problems.length ? `${count(seen.problems.length, "problem")}: the drawings are those of the last text that could be drawn` : `${count(deciding, "finding")} to decide, ${count(seen.findings.length - deciding, "note")}`);
  draw(seen.drawings);
  if (byId("fields").contains(document.activeElement)) document.activeElement.scrollIntoView({ block: "nearest" }); // from under the drawings
}

function lines(problems) {
  return problems.filter((each) => each.line).map((each) => made("p", { class: "told problem" },
    made("button", { type: "button", class: "small", onclick: () => toLine(each.line) }, `${each.file} line ${each.line}`), ` ${each.message}`));
}

function toLine(line) {
  asText(true);
  const text = byId("text");
  const before = text.value.split("\n").slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
  text.focus();
  text.setSelectionRange(before, before + (text.value.split("\n")[line - 1] ?? "").length);
  text.scrollTop = (line - 4) * parseFloat(getComputedStyle(text).lineHeight);
}

function draw(drawings) {
  const box = byId("drawn");
  box.classList.toggle("old", !drawings);
  if (!drawings) return;
  box.replaceChildren(...Object.entries(drawings).map(([name, svg]) => {
    const figure = made("figure", { "data-drawing": name }, made("figcaption", {}, NAMES[name] ?? name));
    figure.append(picture(svg, NAMES[name] ?? name));
    return figure;
  }));
}

function picture(svg, name) {
  const image = made("img", { alt: name, src: `data:image/svg+xml;utf8,${encodeURIComponent(svg)}` });
  return made("div", { class: "sheet" }, image);
}

const count = (n, word) => (n === 1 ? `1 ${word}` : `${n} ${word}s`);

function state(text, bad = false) {
  const box = byId("state");
  box.textContent = job.name && job.text !== job.saved ? `${text}; not saved` : text;
  box.classList.toggle("bad", bad);
}

// -------------------------------------------------------------------------------------------------------------- save

async function save() {
  try {
    const { mark } = await ask("save", { name: job.name, text: job.text, mark: job.mark });
    Object.assign(job, { mark, saved: job.text });
    document.title = document.title.replace(/^\* /, "");
    state("saved");
    return true;
  } catch (error) {
    if (!(error instanceof Refused) || error.status !== 409) {
      state(`not saved: ${error.message}`, true);
      return false;
    }
    return conflict(error.data);
  }
}

async function conflict(there) {
  const picked = await choose("The file changed on disk", `${job.name} was changed by somebody else or in another window since it was read here. Nothing has been written.`, ["Keep mine, write over it", "Take what is on the disk", "Neither, go on typing"]);
  if (picked === 0) {
    job.mark = there.mark;
    return save();
  }
  if (picked === 1) {
    Object.assign(job, { text: there.text, saved: there.text, mark: there.mark });
    byId("text").value = there.text;
    show(await ask("view", { name: job.name, text: job.text }), true);
  }
  return false;
}

function choose(head, text, words) {
  const box = byId("ask-box");
  byId("ask-head").textContent = head;
  byId("ask-text").textContent = text;
  return new Promise((done) => {
    byId("ask-form").replaceChildren(...words.map((word, n) => made("button", { value: String(n) }, word)));
    box.onclose = () => done(box.returnValue === "" ? words.length - 1 : Number(box.returnValue));
    box.returnValue = "";
    box.showModal();
  });
}

async function leave() {
  if (job.name && job.text !== job.saved) {
    const picked = await choose("Not saved", `${job.name} has changes that are not saved.`, ["Save", "Let them go", "Stay"]);
    if (picked === 2 || (picked === 0 && !(await save()))) return false;
  }
  job.name = "";
  return true;
}

// -------------------------------------------------------------------------------------------------------------- make

async function make() {
  if (job.text !== job.saved && !(await save())) return;
  const picked = (id) => [...byId(id).querySelectorAll("input:checked")].map((each) => each.value);
  byId("make-files").replaceChildren();
  try {
    ({ run } = await ask("make", { name: job.name, parts: picked("make-parts"), formats: picked("make-formats") }));
  } catch (error) {
    byId("make-said").textContent = error.message;
    return;
  }
  const total = picked("make-parts").length || form.parts.length;
  const bar = byId("make-bar");
  byId("make-go").disabled = true;
  byId("make-stop").hidden = bar.hidden = false;
  bar.max = total;
  try {
    for (;;) {
      const now = await ask("progress", { run });
      bar.value = now.parts.length;
      byId("make-said").textContent = now.state === "running" ? `${now.parts.at(-1) ?? "beginning"}: ${now.parts.length} of ${total} parts` : ended(now);
      if (now.state !== "running") break;
      await new Promise((done) => setTimeout(done, 200));
    }
    await listResults();
  } catch (error) {
    byId("make-said").textContent = error.message;
  } finally {
    byId("make-go").disabled = false;
    byId("make-stop").hidden = bar.hidden = true;
  }
}

function ended(now) {
  if (now.state === "done") return `${now.files.length} files in ${now.folder}`;
  if (now.state === "unchanged") return `Nothing has changed since the last make: ${now.folder}`;
  return now.said;
}

async function listResults() {
  const { job: stem, files } = await ask("results", { name: job.name });
  byId("make-files").replaceChildren(made("ul", { class: "results" }, ...files.map((each) => {
    const show = made("button", { type: "button", class: "small", "aria-label": `open ${each.path}` }, "open");
    const take = made("button", { type: "button", class: "small", "aria-label": `save a copy of ${each.path}` }, "take");
    const item = made("li", {}, made("strong", {}, each.path), " ", show, take, each.note ? made("details", {}, made("summary", {}, "what to know before it is used"), made("p", { class: "says" }, each.note)) : null);
    const fetchIt = () => result(stem, each.path);
    show.addEventListener("click", async () => window.open(await fetchIt(), "_blank", "noopener"));
    take.addEventListener("click", async () => made("a", { href: await fetchIt(), download: each.path }).click());
    if (each.path.endsWith(".svg")) resultPicture(stem, each.path).then((src) => item.append(made("img", { src, alt: "", class: "thumb" })), () => {});
    if (!/\.(svg|pdf|html|json|csv)$/.test(each.path)) show.hidden = true;
    return item;
  })));
}

function ticks(id, words) {
  byId(id).append(...words.map((word) => made("label", {}, made("input", { type: "checkbox", value: word }), ` ${word}`)));
}

// ----------------------------------------------------------------------------------------------------------- compare

async function beside() {
  let files;
  try {
    ({ files } = await ask("files"));
  } catch (error) {
    state(error.message, true);
    return;
  }
  const read = [["survey", "found", "as it was found"], ["as_left", "left", "as it was left"]].filter(([key]) => job.view?.values?.[key]);
  byId("beside-which").replaceChildren(made("option", { value: "" }, "choose"),
    ...read.map(([key, when, words]) => made("option", { value: `:${when}` }, `this instrument ${words} (${job.view.values[key]})`)), ...files.filter((each) => each.kind === "spec").map((each) => made("option", { value: each.name }, each.name === job.name ? `${each.name} as it is on the disk` : `${each.title} (${each.name})`)));
  byId("beside-drawn").replaceChildren();
  byId("beside-numbers").replaceChildren();
  byId("beside-key").hidden = true;
  byId("beside-box").showModal();
}

async function compared() {
  const other = byId("beside-which").value;
  if (!other) return;
  try {
    const measured = { ":found": "found", ":left": "left" }[other];
    const both = await ask("compare", { name: job.name, text: job.text, ...(measured ? { measured } : { other }) });
    const heads = measured ? ["wanted", `as ${measured}`] : ["this job", "the other"];
    byId("beside-key").replaceChildren(made("span", { class: "this-line" }), ` ${heads[0]} \u00a0 `, made("span", { class: "other-line" }), ` ${heads[1]}`);
    byId("beside-key").hidden = false;
    byId("beside-drawn").replaceChildren(...Object.entries(both.drawings).map(([name, drawn]) => {
      const says = NAMES[name] ?? name;
      const figure = made("figure", { "data-drawing": name }, made("figcaption", {}, drawn.length === 1 ? `${says}: one over the other` : says));
      drawn.forEach((svg, n) => {
        if (drawn.length > 1) figure.append(made("p", { class: "says" }, heads[n]));
        figure.append(picture(svg, `${says}: ${drawn.length > 1 ? heads[n] : heads.join(" and ")}`));
      });
      return figure;
    }));
    byId("beside-drawn")[measured ? "before" : "after"](byId("beside-numbers"));
    const rows = both.differences;
    byId("beside-numbers").replaceChildren(rows.length ? made("table", { class: "rows" }, made("caption", {}, `${count(rows.length, "number")} ${measured ? "that were measured" : "that differ"}, mm where nothing else is said`),
      made("thead", {}, made("tr", {}, ...["what", ...heads, "difference"].map((head) => made("th", { scope: "col" }, head)))),
      made("tbody", {}, ...rows.map((row) => made("tr", {}, made("th", { scope: "row" }, row[0]), ...row.slice(1).map((cell) => made("td", {}, cell)))))) : made("p", {}, "No number differs."));
  } catch (error) {
    byId("beside-numbers").replaceChildren(made("p", { class: "told problem" }, error.message));
  }
}

// -------------------------------------------------------------------------------------------------------------- wire

function asText(on) {
  byId("as-text").setAttribute("aria-pressed", String(on));
  byId("as-text").textContent = on ? "As fields" : "As text";
  byId("text-side").hidden = !on;
  byId("fields").hidden = on;
}

function wire() {
  const kinds = form.places[0].tables[0].entries.find((entry) => entry.key === "kind").words;
  byId("new-kind").append(...kinds.map((kind) => made("option", { value: kind }, kind.replaceAll("_", " "))));
  ticks("make-parts", form.parts);
  ticks("make-formats", form.formats);
  byId("save").addEventListener("click", save);
  byId("as-text").addEventListener("click", () => asText(byId("text-side").hidden));
  byId("others").addEventListener("click", async () => (await leave()) && start());
  byId("to-make").addEventListener("click", async () => {
    byId("make-box").showModal();
    byId("make-said").textContent = "";
    await listResults().catch((error) => { byId("make-said").textContent = error.message; });
  });
  byId("make-go").addEventListener("click", make);
  byId("make-stop").addEventListener("click", () => ask("stop", { run }).catch((error) => { byId("make-said").textContent = error.message; }));
  byId("beside").addEventListener("click", beside);
  byId("beside-which").addEventListener("change", compared);
  for (const close of document.querySelectorAll("dialog .close")) close.addEventListener("click", () => close.closest("dialog").close());
  let wait;
  byId("text").addEventListener("input", (event) => {
    job.text = event.target.value;
    clearTimeout(wait);
    wait = setTimeout(() => follow("view", {}), 250);
  });
  byId("new-title").addEventListener("input", (event) => {
    const stem = event.target.value.toLowerCase().replaceAll(/[^a-z0-9]+/g, "-").replaceAll(/^-|-$/g, "").slice(0, 40);
    byId("new-name").value = stem ? `${stem}.toml` : "";
  });
  byId("begin").addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      const { name } = await ask("begin", { name: byId("new-name").value, title: byId("new-title").value, kind: byId("new-kind").value, strings: byId("new-strings").value, units: byId("new-units").value });
      await open(name);
    } catch (error) {
      state(error.message, true);
    }
  });
  document.addEventListener("no-answer", () => state("no answer yet: templategen or the disk stands still; what was not said to be saved is not saved", true));
  byId("draft-survey").addEventListener("change", judged);
  byId("draft").addEventListener("submit", drafted);
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || byId("acts").hidden) return;
    if (event.key === "s") { event.preventDefault(); save(); }
    if (event.key === "Enter") { event.preventDefault(); byId("to-make").click(); }
  });
  window.addEventListener("beforeunload", (event) => { if (job.name && job.text !== job.saved) event.preventDefault(); });
}

begin();
