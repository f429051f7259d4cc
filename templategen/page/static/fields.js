// The job as fields, in the order of the bench. Which there are, their kinds, defaults and sentences come from the
// server; what is typed goes back as it was typed.

export function made(tag, more = {}, ...inside) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(more)) {
    if (name === "class") node.className = value;
    else if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value != null) node.setAttribute(name, value);
  }
  node.append(...inside.filter((each) => each != null));
  return node;
}

const spoken = (key) => key.replaceAll("_", " ");
const idOf = (path) => `f-${path.join("-")}`;
const sentence = (words) => words && (/[.!?]$/.test(words) ? words : `${words}.`);
const simple = (value) => value === null || typeof value !== "object";

/** Builds the fields; ``tell(path, given)`` is called when a value is done. */
export class Fields {
  constructor(root, places, tell) {
    this.root = root;
    this.places = places;
    this.tell = tell;
    this.values = {};
    this.comments = {};
    this.units = "mm";
  }

  /** Show ``values``; the field that has the focus keeps what is being typed, unless the text is a fresh one. */
  show(values, comments = {}, fresh = false) {
    const focused = document.activeElement?.id;
    const open = new Set([...this.root.querySelectorAll("details[open]")].map((each) => each.id));
    const typing = !fresh && this.root.contains(document.activeElement) ? [document.activeElement.value, document.activeElement.selectionStart] : null;
    this.values = values;
    this.comments = comments;
    this.units = values.units === "in" ? "in" : "mm";
    this.root.replaceChildren(...this.places.map((place, number) => this.place(place, number)));
    for (const id of open) document.getElementById(id)?.setAttribute("open", "");
    const again = focused && document.getElementById(focused);
    if (again && this.root.contains(again)) {
      again.closest("details")?.setAttribute("open", "");
      again.focus({ preventScroll: true });
      if (typing && again.tagName === "INPUT" && again.type === "text") {
        again.value = typing[0];
        try { again.setSelectionRange(typing[1], typing[1]); } catch { /* not a text field */ }
      }
    }
  }

  place(place, number) {
    const section = made("section", { class: "place", "aria-labelledby": `place-${number}` },
      made("h2", { id: `place-${number}` }, place.heading));
    for (const table of place.tables) section.append(this.table(table));
    return section;
  }

  table(table) {
    const here = table.path.length ? this.values[table.path[0]] : this.values;
    const given = here && typeof here === "object" ? here : {};
    const shown = [], more = [];
    for (const entry of table.entries) {
      const path = [...table.path, entry.key];
      const row = this.row(entry, path, given[entry.key]);
      (entry.required || entry.key in given || (!table.path.length && entry.kind === "word") ? shown : more).push(row);
    }
    const box = made("div", { class: "table" });
    if (table.path.length) box.append(made("h3", { title: `[${table.path.join(".")}]` }, table.sentence || spoken(table.path[0])));
    if (table.path.length) box.append(this.written(table.path));
    box.append(...shown);
    if (more.length) {
      const name = table.path.length ? spoken(table.path.join(" ")) : "the job";
      box.append(made("details", { id: `more-${table.path.join("-") || "top"}` },
        made("summary", {}, `${shown.length ? "More of" : "Open"} ${name} (${more.length})`), ...more));
    }
    return box;
  }

  row(entry, path, value) {
    const id = idOf(path);
    const help = `${id}-says`;
    const row = made("div", { class: "row", "data-path": path.join("."), "data-kind": entry.kind, "data-given": value === undefined ? false : "yes" });
    const [label, control] = this.control(entry, path, value, id, help);
    row.append(...(label ? [label, control] : [control]));
    const says = made("p", { class: "says", id: help }, sentence(entry.sentence));
    if (entry.tool) says.append(made("span", { class: "tool" }, ` Measure with: ${entry.tool}.`));
    if (value === undefined && entry.default) says.append(` Left out: ${entry.default}.`);
    row.append(says, this.written(path), made("div", { class: "said", id: `${id}-said` }));
    return row;
  }

  /** What somebody wrote behind the value in the file. */
  written(path) {
    const comment = this.comments[path.join(".")];
    return comment ? made("p", { class: "says written" }, `Written beside it: ${comment}`) : "";
  }

  control(entry, path, value, id, help) {
    const name = spoken(entry.key);
    if (entry.kind === "rows") return this.rows(entry, path, value || [], id, name);
    if (entry.kind === "table" && (value === undefined ? !entry.item : !simple(value)))
      return this.inner(entry, path, value || {}, id, name);
    if (entry.kind === "over" && value && !simple(value)) return this.over(entry, path, value, id, name);
    const label = made("label", { for: id, title: path.join(".") }, name);
    if (entry.kind === "word" || entry.kind === "yes-no" || (entry.kind === "table" && entry.item === "yes-no")) {
      const words = entry.kind === "word" ? entry.words : ["false", "true"];
      const now = value === undefined ? "" : String(value);
      const none = entry.default ? `${entry.default} (left out)` : entry.required ? "choose" : "not said";
      const select = made("select", { id, "aria-describedby": `${help} ${id}-said`, onchange: (event) => {
        const picked = event.target.value;
        this.tell(path, picked === "" ? null : entry.kind === "word" ? picked : picked === "true");
      } }, made("option", { value: "" }, none),
      ...words.map((word) => made("option", { value: word, selected: word === now }, word === "true" ? "yes" : word === "false" ? "no" : spoken(word))));
      return [label, select];
    }
    const text = Array.isArray(value) ? listed(value) : value === undefined ? "" : String(value);
    const unit = this.unit(entry, text);
    const input = this.input(id, text, help, entry, (typed) => this.tell(path, typed === "" ? null : typed));
    const box = made("span", { class: "typed" }, input, unit ? made("span", { class: "unit" }, unit) : null);
    if (entry.kind === "over") box.append(this.split(entry, path, text, name));
    if (entry.words.length && entry.kind !== "word") {
      const list = `${id}-words`;
      input.setAttribute("list", list);
      box.append(made("datalist", { id: list }, ...entry.words.map((word) => made("option", { value: word }))));
    }
    return [label, box];
  }

  unit(entry, text) {
    const kind = entry.kind === "over" || entry.kind === "table" || entry.kind === "list" ? entry.item : entry.kind;
    return kind === "length" && !/[a-z"]/i.test(text) ? this.units : "";
  }

  input(id, text, help, entry, done) {
    const input = made("input", { id, type: "text", "aria-describedby": `${help} ${id}-said`, autocomplete: "off",
      placeholder: entry.default ? entry.default : entry.example ? `e.g. ${entry.example}` : "", inputmode: ["number", "whole"].includes(entry.kind) ? "decimal" : "text" });
    input.value = text;
    let sent = text, wait;
    const send = () => { clearTimeout(wait); if (input.value.trim() !== sent) { sent = input.value.trim(); done(sent); } };
    input.addEventListener("input", () => { clearTimeout(wait); wait = setTimeout(send, 180); });
    input.addEventListener("change", send);
    return input;
  }

  split(entry, path, text, name) {
    const both = made("button", { type: "button", class: "small", onclick: () => {
      const one = text && !entry.words.includes(text) ? text : "0";
      this.tell(path, { bass: one, treble: one });
    } }, "bass and treble");
    both.setAttribute("aria-label", `${name}: one value for bass, one for treble`);
    return both;
  }

  over(entry, path, value, id, name) {
    const keys = Array.isArray(value) ? value.map((_, n) => n) : ["bass", "treble"];
    const set = made("fieldset", { class: "over", id, tabindex: -1 }, made("legend", { title: path.join(".") }, name));
    for (const key of keys) {
      const field = `${id}-${key}`;
      const typed = value[key] === undefined ? "" : String(value[key]);
      set.append(made("span", { class: "typed" }, made("label", { for: field }, typeof key === "number" ? `string ${key + 1}` : key),
        this.input(field, typed, `${id}-says`, { ...entry, default: "", example: "" }, (now) => this.tell([...path, key], now === "" ? null : now)),
        made("span", { class: "unit" }, this.unit(entry, typed))));
    }
    set.append(made("button", { type: "button", class: "small", onclick: () => this.tell(path, String(value[keys[0]] ?? "0")) }, "one for all"));
    return [null, set];
  }

  inner(entry, path, value, id, name) {
    const set = made("fieldset", { id, tabindex: -1 }, made("legend", { title: path.join(".") }, name));
    for (const part of entry.parts) set.append(this.row(part, [...path, part.key], value[part.key]));
    const closed = Object.keys(value).length === 0 && !entry.required;
    if (!closed) return [null, set];
    return [null, made("details", { id: `open-${id}` }, made("summary", {}, name), set)];
  }

  rows(entry, path, value, id, name) {
    const keys = entry.parts.filter((part) => part.required || value.some((row) => row && part.key in row) || part.kind === "yes-no" || part.key === "core_diameter");
    const table = made("table", { class: "rows" }, made("caption", { title: path.join(".") }, name),
      made("thead", {}, made("tr", {}, made("th", { scope: "col" }, "no."), ...keys.map((part) => made("th", { scope: "col", title: part.sentence }, spoken(part.key))), made("td", {}))));
    const body = made("tbody");
    value.forEach((row, n) => {
      const line = made("tr", {}, made("th", { scope: "row" }, String(n + 1)));
      for (const part of keys) {
        const field = `${id}-${n}-${part.key}`;
        const label = `${name}, ${n + 1}: ${spoken(part.key)}`;
        if (part.kind === "yes-no") {
          const tick = made("input", { id: field, type: "checkbox", "aria-label": label, onchange: (event) => this.tell([...path, n, part.key], event.target.checked ? true : null) });
          tick.checked = row[part.key] === true;
          line.append(made("td", {}, tick));
        } else {
          const input = this.input(field, row[part.key] === undefined ? "" : String(row[part.key]), `${id}-says`, { ...part, example: "" }, (now) => this.tell([...path, n, part.key], now === "" ? null : now));
          input.setAttribute("aria-label", label);
          line.append(made("td", {}, input));
        }
      }
      line.append(made("td", {}, made("button", { type: "button", class: "small", "aria-label": `${name}: take out number ${n + 1}`, onclick: () => this.tell([...path, n], null) }, "take out")));
      body.append(line);
    });
    table.append(body);
    const next = value.length ? value[value.length - 1] : Object.fromEntries(keys.filter((part) => part.required).map((part) => [part.key, part.example]));
    const add = made("button", { type: "button", class: "small", onclick: () => this.tell([...path, value.length], { ...next }) }, "add one like the last");
    return [null, made("div", { id, tabindex: -1, class: "scroll" }, table, add)];
  }

  /** Say problems and findings beside the fields they concern; gives back those that have none. */
  say(problems, findings) {
    for (const box of this.root.querySelectorAll(".said")) box.replaceChildren();
    for (const row of this.root.querySelectorAll("[data-said]")) row.removeAttribute("data-said");
    const rest = [];
    const all = [
      ...problems.map((each) => ({ level: "problem", path: each.path.filter((step) => typeof step === "string"), message: each.message, line: each.line, file: each.file })),
      ...findings.map((each) => ({ level: each.level, path: each.key.replaceAll(/\[\d+\]/g, "").split("."), message: each.message })),
    ];
    for (const each of all) {
      let row = null;
      for (let n = each.path.length; n > 0 && !row; n--) row = this.root.querySelector(`[data-path="${CSS.escape(each.path.slice(0, n).join("."))}"]`);
      if (!row) { rest.push(each); continue; }
      const box = [...row.children].find((child) => child.classList.contains("said"));
      box.append(told(each));
      if (row.dataset.said !== "problem") row.dataset.said = each.level;
      if (each.level !== "note") row.closest("details")?.setAttribute("open", "");
    }
    return rest;
  }
}

/** One thing that somebody should know. */
export function told(each) {
  return made("p", { class: `told ${each.level}` }, made("strong", {}, `${each.level === "decide" ? "to decide" : each.level}: `), each.message);
}

function listed(value) {
  return value.every(simple) ? value.join(", ") : JSON.stringify(value).replaceAll('"', "");
}
