// The form that a grower fills in: one custom element, drawn from what GET /v1/form describes.
//
//   <script type="module" src=".../form/element.js" integrity="..." crossorigin></script>
//   <shin-wall-form key="..." catalog="..." lang="en" units="imperial"></shin-wall-form>
//
// What was typed -> a spec -> price (POST /v1/plans) and drawing (POST /v1/drawings) -> a quote (POST /v1/quotes).
// Rules: the service decides what is right and in which words; the element holds no rule and no word of its own.
// Events, both bubbling and composed: "shin-wall-price" and "shin-wall-quote".

const STYLE = "@STYLE@";
const SKETCH = "@SKETCH@";
const SERVICE = new URL("../", import.meta.url);
const SHOWN = "summary,bill_of_materials,checks,notices";
const REST = 350; // from the last key to the question [ms]
const PATIENCE = 900; // how long a field that is being typed in is left without a message [ms]
const LONGEST_WAIT = 30; // between attempts when the service is away [s]
const UNITS = { MTR: " m", FOT: " ft", KGM: " kg", LTR: " l" }; // of UN/CEFACT Recommendation 20, as people write them
const FEET_COUNTRIES = ["US", "LR", "MM"];

const sheet = new CSSStyleSheet();
sheet.replaceSync(STYLE);

/** The service said no: its problem, in its words. */
class Refused extends Error {
  constructor(status, problem) {
    super(problem.detail || problem.title);
    Object.assign(this, { status, problem, errors: problem.errors ?? [] });
  }
}

/** The service did not answer; `seconds` where it said when to ask again. */
class Away extends Error {
  constructor(seconds = 0) {
    super("away");
    this.seconds = seconds;
  }
}

/** Ask the service and give the answer, or throw Refused or Away; an abort is thrown as it is. */
async function ask(path, { key, lang, body, accept = "application/json", signal }) {
  const headers = { Accept: accept, "Accept-Language": lang };
  if (key) headers["X-API-Key"] = key;
  if (body) headers["Content-Type"] = "application/json";
  let answer;
  try {
    answer = await fetch(new URL(path, SERVICE), { method: body ? "POST" : "GET", headers, body: body && JSON.stringify(body), signal });
    if (answer.ok) return await (accept.includes("json") ? answer.json() : answer.text());
  } catch (fault) {
    throw fault.name === "AbortError" ? fault : new Away();
  }
  if (answer.status >= 500 || answer.status === 429) throw new Away(Number(answer.headers.get("Retry-After")) || 0);
  throw new Refused(answer.status, await answer.json().catch(() => ({ title: answer.statusText })));
}

/** Make an element; properties that do not exist on it are set as attributes, functions are listeners. */
function h(name, properties = {}, ...inside) {
  const made = document.createElement(name);
  for (const [property, value] of Object.entries(properties)) {
    if (value === undefined || value === null || value === false) continue;
    if (typeof value === "function") made.addEventListener(property, value);
    else if (property in made && property !== "part" && property !== "list") made[property] = value;
    else made.setAttribute(property, value === true ? "" : value);
  }
  made.append(...inside.flat().filter((piece) => piece || piece === 0));
  return made;
}

/** Read a drawing; nothing in it is run, and it has no style or address of its own. */
function picture(text) {
  const read = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  return document.importNode(read, true);
}

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);
const steps = (pointer) => pointer.split("/").slice(1);

/** Read what lies at a pointer of plain values. */
const at = (values, pointer) => steps(pointer).reduce((node, step) => node?.[step], values);

/** Put a value at a pointer, making what lies on the way. */
function put(values, pointer, value) {
  const way = steps(pointer);
  const last = way.pop();
  let node = values;
  way.forEach((step, index) => { node = node[step] ??= /^\d+$/.test(way[index + 1] ?? last) ? [] : {}; });
  node[last] = value;
}

/** Write how much a line of the bill is: packs, and what is in each. */
const contents = ({ packs, pack_size: size, unit }) => (size === 1 && unit === "H87" ? `× ${packs}` : `× ${packs} × ${size}${UNITS[unit] ?? ""}`);

/** Every one of ids that count on: "left-1-hook-1..12" stands for twelve. */
const eachOf = (ids) => ids.flatMap((id) => {
  const [whole, stem, first, last] = /^(.*-)(\d+)\.\.(\d+)$/.exec(id) ?? [];
  return whole ? Array.from({ length: last - first + 1 }, (_, index) => `${stem}${Number(first) + index}`) : [id];
});

/** Read a length of the spec [mm], a number or a text with one unit. */
function millimetres(value) {
  const [, size, unit] = /^(-?[\d.]+) ?(mm|cm|m|in|ft)?$/.exec(value) ?? [];
  return size === undefined ? NaN : size * { mm: 1, cm: 10, m: 1000, in: 25.4, ft: 304.8 }[unit ?? "mm"];
}

/** Whether two values of the spec are the same answer. */
const alike = (one, other) => same(one, other) || Math.abs(millimetres(one) - millimetres(other)) < 1e-6;

/** Write a length [mm] as it would be typed. */
function typed(value, units) {
  if (typeof value !== "number") return String(value);
  const inches = value / 25.4;
  if (units === "imperial" && Math.abs(inches * 16 - Math.round(inches * 16)) < 1e-6) return `${inches} in`;
  return `${value} mm`;
}

/** One question with its control, its hint and its message. */
class Field {
  #error = "";

  constructor(form, asked, pointer = asked.pointer) {
    Object.assign(this, { form, asked, pointer, id: `q${pointer.replaceAll("/", "-")}` });
    this.control = this.#control();
    this.hint = h("p", { className: "hint", id: `${this.id}-hint` });
    this.message = h("div", { id: `${this.id}-message`, hidden: true });
    this.control.setAttribute("aria-describedby", `${this.id}-hint ${this.id}-message`);
    this.control.addEventListener("input", () => form.changed(this));
    this.control.addEventListener("focus", () => form.sketch(asked.picture));
    this.root = h("div", { className: "question", part: "question" }, this.#caption(), this.hint, this.message);
    this.describe();
  }

  #control() {
    const { kind, options = [], required } = this.asked;
    if (kind === "flag") return h("input", { type: "checkbox", id: this.id, checked: this.#usual() });
    if (kind === "choice") {
      const chosen = options.findIndex((option) => same(option.value, this.#usual()));
      const made = h("select", { id: this.id }, options.map((option, index) => h("option", { value: String(index) }, option.label)));
      made.selectedIndex = Math.max(chosen, 0);
      return made;
    }
    return h("input", { id: this.id, type: "text", inputMode: kind === "count" ? "numeric" : "text", autocomplete: "off",
      autocapitalize: "off", spellcheck: false, "aria-required": required && "true" });
  }

  #caption() {
    const { kind, label, required } = this.asked;
    const needed = required && kind !== "choice" ? h("span", { className: "quiet" }, ` (${this.form.word("needed")})`) : "";
    return kind === "flag" ? [h("label", {}, this.control, label)] : [h("label", { htmlFor: this.id }, label, needed), this.control];
  }

  #usual() { return this.asked.default[this.form.units]; }

  /** Say what to type, in the units chosen. */
  describe() {
    const { help, kind, example, limits } = this.asked;
    const word = (name, value) => this.form.word(name, { value });
    const usual = this.#usual();
    const said = [help];
    if (!["choice", "flag"].includes(kind)) {
      if (usual !== null) said.push(word("usual", usual));
      else if (example[this.form.units]) said.push(word("example", example[this.form.units]));
      const within = limits?.[this.form.units];
      if (within && this.#error) said.push(this.form.word("between", within));
    }
    this.hint.textContent = said.filter(Boolean).join(" ");
  }

  /** What is in the control, to be kept and put back. */
  get raw() { return this.asked.kind === "flag" ? this.control.checked : this.asked.kind === "choice" ? this.control.selectedIndex : this.control.value; }
  set raw(value) {
    if (this.asked.kind === "flag") this.control.checked = value;
    else if (this.asked.kind === "choice") this.control.selectedIndex = value;
    else this.control.value = value;
  }

  /** The answer as the service reads it. */
  get value() {
    const { kind, options } = this.asked;
    if (kind === "flag") return this.control.checked;
    if (kind === "choice") return options[this.control.selectedIndex]?.value;
    const text = this.control.value.trim();
    if (!text) return undefined;
    return kind === "count" && /^\d{1,9}$/.test(text) ? Number(text) : text;
  }

  /** Take a value of the spec; false where it cannot be shown. */
  take(value) {
    if (this.asked.kind === "choice") {
      const index = this.asked.options.findIndex((option) => alike(option.value, value));
      if (index < 0) return false;
      this.control.selectedIndex = index;
    } else if (this.asked.kind === "flag") this.control.checked = Boolean(value);
    else if (this.asked.kind === "length") this.control.value = typed(value, this.form.units);
    else if (this.asked.kind === "measure" && typeof value === "number") this.control.value = `${value} ${this.asked.unit.symbols.includes("°C") ? "°C" : "m/s"}`;
    else this.control.value = String(value);
    return true;
  }

  /** Whether there is something to send: an answer that is not the usual one. */
  get answered() { return this.value !== undefined && (this.asked.required || !same(this.value, this.#usual())); }

  get missing() { return this.asked.required && this.value === undefined; }

  /** Show the field only where it matters. */
  matters(answers) {
    const { when } = this.asked;
    this.root.hidden = Boolean(when) && !when.is.some((value) => same(value, answers.get(when.pointer)?.value));
    return !this.root.hidden;
  }

  /** Show what is wrong with it, and what would work as a button. */
  accuse(error) {
    this.#error = error.detail;
    const fits = "suggestion" in error && error.suggestion !== null;
    const shown = fits && this.form.shown(this.asked, error.suggestion);
    this.control.setAttribute("aria-invalid", "true");
    this.message.hidden = false;
    this.message.replaceChildren(
      h("p", { className: "wrong" }, `${this.asked.label}: ${error.detail}`),
      shown ? h("button", { type: "button", click: () => { this.take(error.suggestion); this.form.changed(this); this.control.focus(); } }, this.form.word("take", { value: shown })) : "",
    );
    this.describe();
  }

  acquit() {
    if (!this.#error) return;
    this.#error = "";
    this.control.removeAttribute("aria-invalid");
    this.message.hidden = true;
    this.message.replaceChildren();
    this.describe();
  }
}

/** A question that is answered by a list of entries. */
class List {
  constructor(form, asked) {
    Object.assign(this, { form, asked, pointer: asked.pointer, entries: [] });
    this.box = h("div");
    this.add = h("button", { type: "button", click: () => { this.grow(); form.changed(); this.entries.at(-1).fields[0].control.focus(); } }, form.word("add"));
    this.root = h("div", { className: "question", part: "question" }, h("p", { className: "help" }, asked.help), this.box, h("div", { className: "row" }, this.add));
  }

  grow() {
    const index = this.entries.length;
    const fields = this.asked.entries.map((entry) => new Field(this.form, entry, `${this.pointer}/${index}${entry.pointer}`));
    const remove = h("button", { type: "button", className: "plain", click: () => this.drop(fields) }, this.form.word("remove"));
    const root = h("fieldset", { className: "card" }, h("legend", {}, `${this.asked.label} ${index + 1}`), fields.map((field) => field.root), h("div", { className: "row" }, remove));
    this.entries.push({ fields, root });
    this.box.append(root);
    this.add.hidden = this.entries.length >= this.asked.most;
  }

  /** Take an entry out; those after it move up, so that pointers stay in order. */
  drop(fields) {
    const kept = this.entries.filter((entry) => entry.fields !== fields).map((entry) => entry.fields.map((field) => field.raw));
    this.raw = kept;
    this.form.changed();
    this.add.focus();
  }

  get raw() { return this.entries.map((entry) => entry.fields.map((field) => field.raw)); }
  set raw(rows) {
    this.entries = [];
    this.box.replaceChildren();
    this.add.hidden = false;
    rows.forEach((row, index) => {
      this.grow();
      this.entries[index].fields.forEach((field, place) => { field.raw = row[place]; });
    });
  }

  get fields() { return this.entries.flatMap((entry) => entry.fields); }
}

class ShinWallForm extends HTMLElement {
  static observedAttributes = ["key", "catalog", "lang", "units"];

  #root = this.attachShadow({ mode: "open" });
  #form = null; // what GET /v1/form said
  #parts = []; // fields and lists in order
  #timers = {};
  #running = null;
  #life = null;
  #attempt = 0;
  #quote = null;
  #plan = null;
  #lastKey = 0;

  constructor() {
    super();
    this.#root.adoptedStyleSheets = [sheet];
  }

  connectedCallback() { this.#begin(); }

  disconnectedCallback() {
    this.#life?.abort();
    this.#running?.abort();
    Object.values(this.#timers).forEach(clearTimeout);
  }

  attributeChangedCallback(name, before, after) {
    if (this.isConnected && before !== after && this.#life) this.#begin();
  }

  // -- what the page gave --------------------------------------------------------------------------------------------

  get #lang() { return this.closest("[lang]")?.lang || navigator.language || "en"; }
  get #store() { return `shin-wall:${this.getAttribute("catalog") ?? ""}`; }
  get units() { return this.chosen ?? "imperial"; }

  #ask(path, more = {}) {
    return ask(path, { key: this.getAttribute("key"), lang: this.#lang, signal: this.#life.signal, ...more });
  }

  /** A word of the form, with what stands in brackets filled in. */
  word(name, values = {}) {
    return (this.#form.presentation.words[name] ?? "").replace(/\[(\w+)\]/g, (whole, key) => values[key] ?? whole);
  }

  #money(amount, currency) { return new Intl.NumberFormat(this.#lang, { style: "currency", currency }).format(amount); }

  // -- from the descriptor to fields ---------------------------------------------------------------------------------

  async #begin() {
    this.disconnectedCallback();
    this.#life = new AbortController();
    const { signal } = this.#life;
    window.addEventListener("online", () => this.#retry(), { signal });
    window.addEventListener("hashchange", () => this.#open(), { signal });
    try {
      const named = this.getAttribute("catalog");
      this.#form = await this.#ask(`v1/form${named ? `?catalog=${encodeURIComponent(named)}` : ""}`);
    } catch (fault) {
      if (fault.name === "AbortError") return;
      this.#root.replaceChildren(h("p", { className: "wrong", role: "alert" }, fault instanceof Refused ? fault.message : "…"));
      if (fault instanceof Away) this.#later(() => this.#begin(), fault.seconds);
      return;
    }
    this.#attempt = 0;
    const kept = this.#kept();
    const country = new Intl.Locale(navigator.language || "en").maximize().region;
    this.chosen = kept.units ?? this.getAttribute("units") ?? (FEET_COUNTRIES.includes(country) ? "imperial" : "metric");
    this.#draw();
    this.#restore(kept.answers ?? {});
    await this.#open();
    this.#soon(0);
  }

  #draw() {
    this.#parts = [];
    const groups = this.#form.presentation.groups.map((group) => this.#group(group));
    const units = ["imperial", "metric"].map((name) => h("label", {},
      h("input", { type: "radio", name: "units", value: name, checked: this.units === name, change: () => this.#measure(name) }), this.word(name)));
    this.sketchBox = h("figure", { className: "sketch", part: "sketch" }, picture(SKETCH));
    this.problems = h("div", { role: "alert", part: "problems" });
    this.priceBox = h("p", { className: "price", part: "price" });
    this.status = h("p", { role: "status", className: "quiet", part: "status" });
    this.saver = h("button", { type: "button", className: "main", part: "save", hidden: true, click: () => this.#save() }, this.word("save"));
    this.headline = h("p", {});
    this.drawingBox = h("figure", { className: "drawing", part: "drawing" });
    this.pointed = h("figcaption", { className: "quiet" });
    this.saveBox = h("section", { part: "quote" });
    this.careBox = h("section", { part: "care" });
    this.partsBox = h("section", { part: "parts" });
    this.otherBox = h("section", { part: "alternatives" });
    this.#listenToDrawing();
    this.#root.replaceChildren(h("div", { className: "columns", dir: this.closest("[dir]")?.dir || "ltr" },
      h("form", { noValidate: true, autocomplete: "off", part: "form", submit: (event) => event.preventDefault() },
        h("fieldset", { className: "units" }, h("legend", {}, this.word("units")), units), this.sketchBox, groups,
        h("div", { className: "row" }, h("button", { type: "button", className: "plain", click: () => this.#clear() }, this.word("clear")))),
      h("div", { className: "bar", part: "bar" }, h("div", {}, h("h2", { className: "hidden-text" }, this.word("price")), this.priceBox, this.status), this.saver),
      h("div", { className: "answer", part: "answer" },
        this.problems, this.saveBox, this.headline, h("section", {}, this.drawingBox, this.pointed), this.careBox, this.partsBox, this.otherBox)));
    this.#showSave();
  }

  #group(group) {
    const parts = group.fields.map((asked) => (asked.kind === "list" ? new List(this, asked) : new Field(this, asked)));
    this.#parts.push(...parts);
    const roots = parts.map((part) => part.root);
    if (group.open) return h("fieldset", {}, h("legend", {}, group.title), roots);
    const made = h("details", {}, h("summary", {}, group.title), h("div", {}, roots));
    parts.forEach((part) => { part.folded = made; });
    return made;
  }

  get #fields() { return this.#parts.flatMap((part) => part.fields ?? part); }

  /** Light up what a question measures. */
  sketch(name) {
    for (const group of this.sketchBox.querySelectorAll("[data-picture]")) group.classList.toggle("lit", group.dataset.picture === name);
  }

  #measure(units) {
    this.chosen = units;
    this.#fields.forEach((field) => field.describe());
    this.changed();
  }

  /** A value as it would stand in a field, or nothing where the field cannot show it. */
  shown(asked, value) {
    if (asked.kind === "choice") return asked.options.find((option) => alike(option.value, value))?.label ?? "";
    if (asked.kind === "flag") return this.word(value ? "yes" : "no");
    return asked.kind === "length" ? typed(value, this.units) : String(value);
  }

  // -- from fields to a spec, kept for this tab ----------------------------------------------------------------------

  get #spec() {
    const spec = { display_units: this.units, catalog: this.#form.catalog.id };
    const answers = new Map(this.#fields.map((field) => [field.pointer, field]));
    for (const field of this.#fields) if (field.matters(answers) && field.answered) put(spec, field.pointer, field.value);
    return spec;
  }

  #kept() {
    try { return JSON.parse(sessionStorage.getItem(this.#store)) ?? {}; } catch { return {}; }
  }

  #keep() {
    const answers = Object.fromEntries(this.#parts.map((part) => [part.pointer, part.raw]));
    try { sessionStorage.setItem(this.#store, JSON.stringify({ units: this.units, answers })); } catch { /* storage may be closed */ }
  }

  #restore(answers) {
    for (const part of this.#parts) if (part.pointer in answers) part.raw = answers[part.pointer];
  }

  #clear() {
    try { sessionStorage.removeItem(this.#store); } catch { /* as above */ }
    history.replaceState(null, "", location.pathname + location.search);
    this.#quote = null;
    this.#draw();
    this.#soon(0);
    this.#fields[0].control.focus();
  }

  /** Take values of the spec into their fields. */
  #take(changes) {
    for (const { pointer, value } of changes) {
      const found = this.#fields.find((field) => field.pointer === pointer);
      if (found) found.take(value);
    }
    this.changed();
  }

  #takable(changes) {
    return changes.length > 0 && changes.every(({ pointer, value }) => {
      const found = this.#fields.find((field) => field.pointer === pointer);
      return found && this.shown(found.asked, value);
    });
  }

  /** Something was answered: what was shown before is old. */
  changed(field) {
    this.#lastKey = Date.now();
    field?.acquit();
    if (this.#quote) {
      this.#quote = null;
      history.replaceState(null, "", location.pathname + location.search);
    }
    this.#keep();
    this.#showSave();
    this.#soon(REST);
  }

  // -- asking --------------------------------------------------------------------------------------------------------

  #soon(delay) {
    clearTimeout(this.#timers.soon);
    this.#running?.abort();
    this.#timers.soon = setTimeout(() => this.#price(), delay);
  }

  #later(attempt, seconds) {
    this.#attempt += 1;
    const wait = seconds || Math.min(2 ** this.#attempt, LONGEST_WAIT);
    clearTimeout(this.#timers.later);
    this.#timers.later = setTimeout(attempt, wait * 1000);
    return wait;
  }

  #retry() {
    if (this.#attempt) this.#form ? this.#soon(0) : this.#begin();
  }

  async #price() {
    clearTimeout(this.#timers.later);
    const spec = this.#spec;
    if (this.#fields.some((field) => field.missing && !field.root.hidden)) return this.#wait();
    this.#running = new AbortController();
    const { signal } = this.#running;
    this.#say("working");
    this.priceBox.classList.add("old");
    try {
      const plan = await this.#ask(`v1/plans?parts=${SHOWN}`, { body: spec, signal });
      this.#show(plan, spec);
      this.#say(this.#attempt ? "back" : "");
      this.#attempt = 0;
      await this.#showDrawing(spec, signal);
    } catch (fault) {
      if (fault.name === "AbortError") return;
      if (fault instanceof Refused) this.#refuse(fault);
      else if (fault instanceof Away) this.#away(fault, () => this.#price());
      else throw fault;
    }
  }

  #away(fault, attempt) {
    const seconds = this.#later(attempt, fault.seconds);
    this.#say(fault.seconds ? "slow" : "away", { seconds });
  }

  #say(name, values) { this.status.textContent = name ? this.word(name, values) : this.#plan ? this.word("tax") : ""; }

  /** No price can be shown: too little is known. */
  #wait() {
    this.#forget();
    this.#problems([]);
    this.status.textContent = this.word("price_waits");
  }

  #forget() {
    this.#plan = null;
    for (const box of [this.priceBox, this.headline, this.drawingBox, this.pointed, this.careBox, this.partsBox, this.otherBox]) box.replaceChildren();
    this.#showSave();
  }

  /** Put each fault beside its field, once whoever types there has paused. */
  #refuse(fault) {
    const typing = this.#root.activeElement?.matches?.("input[type=text]");
    const early = typing ? PATIENCE - (Date.now() - this.#lastKey) : 0;
    if (early > 0) {
      this.#timers.soon = setTimeout(() => this.#refuse(fault), early);
      return;
    }
    this.#forget();
    this.status.textContent = this.word("price_held");
    this.#problems(fault.errors.length ? fault.errors : [{ detail: fault.message }], fault.message);
  }

  #problems(errors, detail) {
    this.#fields.forEach((field) => field.acquit());
    const rows = errors.map((error) => {
      const field = this.#fieldOf(error.pointer);
      if (!field) return h("li", {}, error.detail);
      const own = field.pointer === error.pointer;
      field.accuse(own ? error : { detail: error.detail });
      if (field.folded) field.folded.open = true;
      const list = this.#parts.find((part) => part.fields?.includes(field));
      if (list?.folded) list.folded.open = true;
      return h("li", {}, h("button", { type: "button", className: "plain", click: () => field.control.focus() }, `${field.asked.label}: ${error.detail}`));
    });
    this.problems.replaceChildren(...(rows.length ? [h("div", { className: "card" },
      h("p", { className: "wrong" }, rows.length === 1 ? this.word("fix_one") : this.word("fix", { count: rows.length })),
      detail && errors[0].detail !== detail ? h("p", {}, detail) : "", h("ul", {}, rows))] : []));
  }

  /** The field that a fault is about: its own or the nearest above or below. */
  #fieldOf(pointer) {
    if (!pointer) return undefined;
    const seen = this.#fields.filter((field) => !field.root.hidden);
    return seen.find((field) => field.pointer === pointer) ?? seen.find((field) => pointer.startsWith(`${field.pointer}/`)) ?? seen.find((field) => field.pointer.startsWith(`${pointer}/`));
  }

  // -- showing -------------------------------------------------------------------------------------------------------

  #show(plan, spec) {
    const { summary, bill_of_materials: bill } = plan;
    this.#plan = plan;
    this.#problems([]);
    this.priceBox.classList.remove("old");
    this.priceBox.textContent = this.#money(summary.total, summary.currency);
    this.headline.textContent = [summary.headline.text, bill.lead_days ? this.word("ships", { days: bill.lead_days }) : ""].join(" ");
    this.#showCare(plan);
    this.#showParts(bill);
    this.#showOther();
    this.#showSave();
    this.dispatchEvent(new CustomEvent("shin-wall-price", { bubbles: true, composed: true, detail: { total: summary.total, currency: summary.currency, plan_id: plan.plan_id, spec } }));
  }

  #showCare({ checks, notices }) {
    const text = (message) => (typeof message === "string" ? message : message?.text ?? "");
    const row = (className, title, said, changes) => h("div", { className },
      title ? h("h3", {}, title) : "", h("p", {}, said),
      this.#takable(changes) ? h("button", { type: "button", click: () => this.#take(changes) }, this.word("take", { value: this.#names(changes) })) : "");
    const care = checks.filter((check) => ["fail", "caution"].includes(check.outcome)).map((check) => row("notice care", text(check.title), text(check.advice), check.changes));
    const rest = [...notices.map((notice) => row("notice", "", text(notice.text ?? notice), notice.changes ?? [])),
      ...checks.filter((check) => check.outcome === "not_assessed").map((check) => row("notice", text(check.title), text(check.advice), []))];
    this.careBox.replaceChildren(care.length ? h("h2", {}, this.word("care")) : "", ...care,
      rest.length ? h("details", {}, h("summary", {}, this.word("look")), h("div", {}, rest)) : "");
  }

  #names(changes) {
    return changes.map(({ pointer, value }) => this.shown(this.#fields.find((field) => field.pointer === pointer).asked, value)).join(", ");
  }

  #showParts(bill) {
    const currency = this.#plan.summary.currency;
    const rows = bill.lines.map((line) => h("li", {}, h("button", { type: "button", "aria-pressed": "false",
      click: (event) => this.#press(event.currentTarget, eachOf(line.needed_by)), pointerenter: () => this.#light(eachOf(line.needed_by)), pointerleave: () => this.#light(this.lit ?? []) },
      h("span", {}, line.description, h("span", { className: "quiet" }, ` ${contents(line)}`)), h("b", {}, this.#money(line.amount, currency)))));
    const others = (bill.by_others ?? []).map((other) => h("li", {}, other.description.text ?? other.description));
    this.lit = null;
    this.partsBox.replaceChildren(h("h2", {}, this.word("included")), h("ul", { className: "parts" }, rows),
      others.length ? h("h3", {}, this.word("not_included")) : "", h("ul", { className: "quiet" }, others));
  }

  #press(button, ids) {
    const pressed = button.getAttribute("aria-pressed") !== "true";
    for (const other of this.partsBox.querySelectorAll("[aria-pressed]")) other.setAttribute("aria-pressed", "false");
    button.setAttribute("aria-pressed", String(pressed));
    this.lit = pressed ? ids : null;
    this.#light(this.lit ?? []);
  }

  async #showDrawing(spec, signal) {
    const paper = Math.min(400, Math.max(80, Math.round(this.drawingBox.clientWidth / 80) * 20));
    const drawn = await this.#ask(`v1/drawings?kinds=tunnel&themed=true&paper=${paper}`, { body: spec, accept: "image/svg+xml", signal });
    this.drawingBox.replaceChildren(picture(drawn));
    this.pointed.textContent = this.word("drawing_hint");
    this.#light(this.lit ?? []);
  }

  #listenToDrawing() {
    const point = (event) => {
      const part = event.target.closest("[data-part]");
      this.#light(part ? [part.dataset.part] : this.lit ?? []);
      this.pointed.textContent = part?.querySelector("title")?.textContent ?? this.word("drawing_hint");
    };
    this.drawingBox.addEventListener("pointerover", point);
    this.drawingBox.addEventListener("pointerdown", point);
  }

  #light(ids) {
    const named = new Set(ids);
    for (const part of this.drawingBox.querySelectorAll("[data-part]")) part.classList.toggle("lit", named.has(part.dataset.part));
  }

  #showOther() {
    const button = h("button", { type: "button", click: () => this.#compare(button) }, this.word("compare"));
    this.otherBox.replaceChildren(h("h2", {}, this.word("other")), h("div", { className: "row" }, button));
  }

  async #compare(button) {
    button.disabled = true;
    const seen = this.#plan;
    try {
      const { alternatives } = await this.#ask("v1/alternatives", { body: this.#spec });
      if (seen !== this.#plan) return;
      const cards = alternatives.map((other) => h("li", { className: "card" }, h("p", {}, h("b", {}, this.#money(other.total, other.currency))),
        h("p", {}, other.text.text ?? other.text),
        this.#takable(other.changes) ? h("div", { className: "row" }, h("button", { type: "button", click: () => this.#take(other.changes) }, this.word("take", { value: this.#names(other.changes) }))) : ""));
      this.otherBox.replaceChildren(h("h2", {}, this.word("other")), cards.length ? h("ul", {}, cards) : h("p", {}, this.word("none_cheaper")));
    } catch (fault) {
      button.disabled = false;
      this.#tell(fault, () => this.#compare(button));
    }
  }

  /** Say what went wrong with something that was asked for by a button. */
  #tell(fault, attempt) {
    if (fault instanceof Refused) this.status.textContent = fault.message;
    else if (fault instanceof Away) this.#away(fault, attempt);
    else if (fault.name !== "AbortError") throw fault;
  }

  // -- quotes --------------------------------------------------------------------------------------------------------

  async #save() {
    this.saver.disabled = true;
    try {
      const quote = await this.#ask("v1/quotes", { body: this.#spec });
      this.#quote = quote;
      history.replaceState(null, "", `#quote=${quote.token}`);
      this.#showSave();
      this.saveBox.firstChild.focus();
      this.dispatchEvent(new CustomEvent("shin-wall-quote", { bubbles: true, composed: true, detail: { token: quote.token, quote } }));
    } catch (fault) {
      this.#tell(fault, () => this.#save());
    } finally { this.saver.disabled = false; }
  }

  #showSave() {
    const quote = this.#quote;
    this.saver.hidden = !this.#plan || (quote && !quote.expired);
    if (!quote) return this.saveBox.replaceChildren();
    const date = new Intl.DateTimeFormat(this.#lang, { dateStyle: "long" }).format(new Date(quote.valid_until));
    const link = h("output", { className: "link-text" }, location.href);
    const copy = h("button", { type: "button", click: () => this.#copy(link, copy) }, this.word("copy"));
    const packet = h("a", { className: "link", href: new URL(`v1/quotes/${quote.token}/packet.pdf`, SERVICE).href, download: `${quote.quote_id}.pdf` }, this.word("packet"));
    const print = h("button", { type: "button", click: () => window.print() }, this.word("print"));
    this.saveBox.replaceChildren(h("div", { className: "card", tabIndex: -1 },
      h("p", { role: "status" }, h("b", {}, this.word(quote.expired ? "expired" : "saved", { name: quote.quote_id, date })), " ", this.#money(quote.total, quote.currency)),
      h("p", { className: "quiet" }, this.word("link")), link, h("div", { className: "row" }, copy, packet, print)));
  }

  async #copy(link, button) {
    try {
      await navigator.clipboard.writeText(link.textContent);
      button.textContent = this.word("copied");
    } catch { getSelection().selectAllChildren(link); }
  }

  /** Open the quote that the address names: its answers into the fields, its price beside them. */
  async #open() {
    const token = new URLSearchParams(location.hash.slice(1)).get("quote");
    if (!token || token === this.#quote?.token) return;
    try {
      const quote = await this.#ask("v1/quotes/read", { body: { token } });
      const asked = JSON.parse(new TextDecoder().decode(Uint8Array.from(atob(token.split(".")[1].replaceAll("-", "+").replaceAll("_", "/")), (byte) => byte.charCodeAt(0)))).ask;
      this.chosen = asked.display_units ?? "imperial";
      this.#draw();
      this.#fill(asked);
      this.#quote = quote;
      this.#keep();
      this.#showSave();
    } catch (fault) { this.#tell(fault, () => this.#open()); }
  }

  #fill(asked) {
    for (const part of this.#parts) {
      const value = at(asked, part.pointer);
      if (value === undefined) continue;
      if (!part.entries) part.take(value);
      else value.forEach((entry, index) => {
        part.grow();
        part.entries[index].fields.forEach((field) => { const held = at(asked, field.pointer); if (held !== undefined) field.take(held); });
      });
    }
  }
}

customElements.define("shin-wall-form", ShinWallForm);
