// The entry form: rows and small forms over the state of `labkit.faces.live.entry`.
//
// All moving about is done here and at once, so that fast typing never waits for the kernel. What was typed
// stays in its field until the kernel says that it is in the record; nothing is stored but by a person's key.

const EVERY = 4000; // ms between two looks at what others have added to the record
const CALM = 700; // ms that a look at the record is left out after another
const PATIENT = 3; // looks at the record that may miss their answer before that is called silence
const REST = 1500; // ms without a key until the kernel is asked whether it doubts what was stored

class Form {
  constructor(model, el) {
    Object.assign(this, { model, state: model.get("state"), rows: [], count: 0, asked: [], silent: false, missed: 0, last: 0, regained: "" });
    Object.assign(this, { stored: new Set(), doubted: new Map() });
    this.words = this.state.words;
    this.prefix = `lk${Math.random().toString(36).slice(2, 9)}`;
    this.kept = keeper(this.state.record);
    this.line = connect(model, {
      answered: (message) => this.heard(message),
      lost: (content) => this.missing(content),
      found: () => this.regain(),
    });
    this.build(el);
    this.update();
    this.rows.forEach((row) => row.forget());
    this.unfold(this.rows.find((row) => row.state() === "unsaved") ?? this.order().find((each) => each[0].awaits(each[1]))?.[0]);
    if (this.rows.some((row) => row.state() === "unsaved")) {
      this.announce(this.words.offered, true);
      this.regained = this.words.savedAgain;
    }
    this.renew = () => this.update();
    this.tell = (message) => this.told(message);
    model.on("change:state change:pictures", this.renew);
    model.on("msg:custom", this.tell);
    this.clock = setInterval(() => this.again(), EVERY);
  }

  build(el) {
    const { words } = this;
    const part = (tag, name, more = {}) => { this[name] = make(tag, { class: `lk-${name}`, ...more }); return this[name]; };
    const columns = [words.wiring, words.expected, words.read, words.factor, ""].map((text) => make("span", {}, text));
    const key = (text, name) => make("button", { type: "button", class: "lk-key", onclick: () => this.change(name) }, text);
    this.copy = make("button", { type: "button", class: "lk-key", onclick: () => this.copied() }, words.copy);
    this.bar = make("div", { class: "lk-bar" }, part("p", "settings"), key(words.change, "use"), key(words.otherMeter, "meter"), key(words.partAnew, "describe"));
    this.page = make(
      "div", { class: "lk-page" },
      make("header", {}, part("h2", "title"), part("p", "about")),
      part("div", "banner", { role: "alert" }), part("div", "problems"), part("p", "shut"), this.bar, part("div", "step"),
      make("div", { class: "lk-columns", "aria-hidden": "true" }, ...columns),
      part("ol", "list"), part("div", "done"), part("div", "wrote"), part("p", "doubt", { role: "status" }), part("p", "notice", { role: "status" }),
      part("p", "aloud", { role: "status" }), part("p", "keys-line"),
      make("div", { class: "lk-plain" }, make("h3", {}, words.call), part("code", "call", { tabindex: "0" }), this.copy),
    );
    this.root = make("section", { class: "lk-entry", "aria-label": words.form }, this.page);
    this.root.addEventListener("keydown", (event) => { if (!event.ctrlKey && !event.metaKey) event.stopPropagation(); });
    this.root.addEventListener("focusin", () => this.again());
    el.append(this.root);
  }

  id() { this.count += 1; return `${this.prefix}-${this.count}`; }

  get entering() { return !this.state.closed && !this.state.step; }

  // ---- talking to the kernel

  ask(content, answered = () => {}, lost = () => {}) {
    const entry = { content, answered, lost };
    this.asked.push(entry);
    try { entry.number = this.line.say(content); } catch { /* its silence will be noticed */ }
  }

  heard(message) {
    const entry = this.asked.find((each) => each.number === message.answer);
    this.asked = this.asked.filter((each) => each !== entry);
    if (message.now) this.update(message.now);
    entry?.answered(message);
    if (message.entered) this.wonder(message.entered);
    this.shown();
  }

  // A kernel that is busy with a cell misses a look or two; that alone is no reason to alarm a class.
  missing(content) {
    this.missed += content.kind === "again" ? 1 : PATIENT;
    this.silent = this.missed >= PATIENT;
    this.asked.find((each) => each.content === content)?.lost();
    this.shown();
  }

  // Ask about what was stored once the person rests, since the answer takes the kernel a while.
  wonder(id = "") {
    if (id) this.stored.add(id);
    clearTimeout(this.resting);
    if (this.stored.size) this.resting = setTimeout(() => this.doubts(), REST);
  }

  doubts() {
    this.stored.forEach((id) => this.ask({ kind: "doubt", id }));
    this.stored.clear();
  }

  told({ about, doubt }) {
    if (about === undefined) return;
    this.doubted.set(about, doubt);
    const texts = [...this.doubted.values()].filter(Boolean);
    this.doubt.replaceChildren(...texts.map((text) => make("span", {}, text)));
  }

  regain() {
    if (this.silent) { this.regained = this.words.savedAgain; this.announce("", true); }
    this.missed = 0;
    this.silent = false;
  }

  again() {
    if (document.hidden || !this.root.isConnected || Date.now() - this.last < CALM) return;
    this.last = Date.now();
    this.ask({ kind: "again" }, ({ refused = "" }) => { this.trouble = refused; });
  }

  sheet(request, place, close) {
    this.ask({ kind: "sheet", ...request }, (answer) => {
      if (answer.refused !== undefined) { this.announce(answer.refused, true); return; }
      const sheet = new Sheet(this, answer.sheet, { done: close, cancel: close });
      place.replaceChildren(sheet.element);
      sheet.focus();
    });
  }

  change(name) {
    this.sheet({ name }, this.step, () => { this.step.replaceChildren(); this.bar.querySelector("button").focus(); });
  }

  // ---- showing

  announce(text, visibly = false) {
    if (!visibly) { this.aloud.textContent = text; return; }
    this.notice.textContent = [this.regained, text].filter(Boolean).join(" ");
    if (text) this.regained = "";
  }

  update(state = this.model.get("state")) {
    this.state = state;
    const { title, invented, dots, problems, closed, settings, call, step } = this.state;
    this.title.textContent = title;
    this.about.textContent = [dots, invented].filter(Boolean).join(" · ");
    this.problems.replaceChildren(...problems.map((each) => make("p", {}, each)));
    this.shut.textContent = closed;
    this.settings.textContent = settings;
    this.bar.hidden = !this.entering;
    this["keys-line"].textContent = this.entering ? this.words.keys : "";
    this.call.textContent = call;
    this.call.parentElement.hidden = !call;
    this.fill();
    this.needs(step);
    this.finished(this.state.done);
    this.shown();
  }

  // All planned wirings are read: what comes next, and the person's own words.
  finished(done) {
    const said = JSON.stringify([done, this.entering]);
    if (said === this.finish) return;
    this.finish = said;
    const write = () => this.sheet({ name: "write" }, this.wrote, () => this.ended());
    const key = () => make("button", { type: "button", class: "lk-key", onclick: write }, done.own.length ? this.words.writeAnew : this.words.write);
    this.done.replaceChildren(...(done ? [make("strong", {}, this.words.done), make("p", {}, done.next)] : []));
    this.ended = () => this.wrote.replaceChildren(...(done?.own ?? []).map((text) => make("p", { class: "lk-words" }, text)), ...(done && this.entering ? [key()] : []));
    this.ended();
  }

  // The form of a meter's card, inside this one: it talks through this form's line and shows this form's part of the state.
  makeCard() {
    this.ask({ kind: "card" }, () => {
      const hear = new Map();
      const inner = {
        get: () => this.state.card,
        send: ({ number, ...message }) => this.model.send({ kind: "card", message, number }),
        on: (what, then) => { hear.set(then, (message) => { if (message?.now) this.update(message.now); then(message); }); this.model.on(what, hear.get(then)); },
        off: (what, then) => this.model.off(what, hear.get(then)),
      };
      const place = make("div", {});
      this.step.append(place);
      card.render({ model: inner, el: place });
      place.scrollIntoView({ block: "nearest" });
      place.querySelector("input").focus();
    });
  }

  fill() {
    const known = new Map(this.rows.map((row) => [row.data.id, row]));
    const rows = this.state.rows.map((data) => known.get(data.id) ?? new Row(this, data));
    const changed = rows.length !== this.rows.length || rows.some((row, n) => row !== this.rows[n]);
    this.rows = rows;
    if (changed) this.list.replaceChildren(...rows.map((row) => row.element));
    rows.forEach((row, n) => row.update(this.state.rows[n]));
  }

  // Show the small form that has to be answered first; who is in one is led on to what comes next.
  needs(about) {
    if ((about?.kind ?? "") === this.needed) return;
    const here = this.step.contains(document.activeElement);
    this.needed = about?.kind ?? "";
    const sheet = about && new Sheet(this, about);
    this.step.replaceChildren(...(sheet ? [sheet.element] : []));
    if (here && sheet) sheet.focus();
    else if (here) this.next();
  }

  shown() {
    const lost = this.rows.some((row) => row.state() === "lost");
    const said = lost ? "lost" : this.silent ? "silent" : this.trouble ? "trouble" : "";
    if (this.banner.dataset.said === said) return;
    this.banner.dataset.said = said;
    const texts = said === "trouble" ? ["", this.trouble] : [this.words[`${said}Title`], this.words[`${said}Text`]];
    this.banner.replaceChildren(...(said ? [make("strong", {}, texts[0]), make("p", {}, texts[1])] : []));
  }

  // Where the browser keeps the clipboard to itself, the call is marked, to be copied by hand.
  async copied() {
    try { await navigator.clipboard.writeText(this.state.call); } catch { getSelection().selectAllChildren(this.call); return; }
    this.copy.textContent = this.words.copied;
    setTimeout(() => { this.copy.textContent = this.words.copy; }, 1500);
  }

  // ---- moving: each winding alone, then all predictions, then what is read of several windings

  order() {
    const of = (joint, what) => this.rows.filter((row) => row.data.joint === joint).map((row) => [row, what]);
    return [...of(false, "shown"), ...of(true, "prediction"), ...of(true, "shown")];
  }

  go(row, what = ["prediction", "shown"].find((each) => row.awaits(each)) ?? "head") {
    this.unfold(row);
    if (what !== "head" && row.open(what)) row.field(what).focus();
    else row.head.focus({ preventScroll: true });
    row.element.scrollIntoView({ block: "nearest" });
  }

  unfold(row) {
    for (const each of this.rows) {
      each.element.classList.toggle("lk-open", each === row);
      each.head.setAttribute("aria-expanded", String(each === row));
    }
  }

  next(row = null, what = "") {
    const order = this.order();
    const at = order.findIndex(([each, kind]) => each === row && kind === what);
    const target = [...order.slice(at + 1), ...order.slice(0, Math.max(at, 0))].find(([each, kind]) => each.awaits(kind));
    if (target) this.go(...target);
    else if (row) this.go(row, "head");
  }

  back(row, what) {
    const order = this.order();
    const at = order.findIndex(([each, kind]) => each === row && kind === what);
    const has = ([each, kind]) => (kind === "shown" ? each.data.next : each.data.predict || each.data.predicted.length);
    const target = order.slice(0, at).reverse().find(has);
    if (target) this.go(target[0], target[0].open(target[1]) ? target[1] : "head");
  }

  beside(row, what, step) {
    const target = this.rows[this.rows.indexOf(row) + step];
    if (target) this.go(target, what !== "head" && target.open(what) ? what : undefined);
  }

  stop() {
    this.line.stop();
    clearInterval(this.clock);
    clearTimeout(this.resting);
    this.model.off("change:state change:pictures", this.renew);
    this.model.off("msg:custom", this.tell);
  }
}

function render({ model, el }) {
  const form = new Form(model, el);
  return () => form.stop();
}

export default { render };
