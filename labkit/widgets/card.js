// The card form over the state of `labkit.faces.live.card`.
//
// What is typed goes to the kernel as it is; how it is understood comes back. A field is written to from here
// only if nobody is typing and every message has been answered, so that no letter is ever lost.

const PAUSE = 150; // ms without a key before what was typed is sent

class CardForm {
  constructor(model, el) {
    Object.assign(this, { model, state: model.get("state"), inputs: {}, notes: {}, typed: {}, open: 0, silent: false });
    this.words = this.state.words;
    this.prefix = `lk${Math.random().toString(36).slice(2, 9)}`;
    this.line = connect(model, {
      answered: (message) => this.heard(message),
      lost: () => { this.silent = true; this.shown(); },
      found: () => this.back(),
    });
    this.kept = `labkit.card.${this.state.place}`;
    this.build(el);
    this.update();
    this.offer();
    this.renew = () => this.update();
    model.on("change:state", this.renew);
  }

  // ---- building

  build(el) {
    const { words } = this;
    const part = (tag, name, more = {}) => { this[name] = make(tag, { class: `lk-${name}`, ...more }); return this[name]; };
    const section = (title, name, ...content) => make("fieldset", { class: `lk-part lk-part-${name}` }, make("legend", {}, words[title]), ...content);
    this.nextKey = make("button", { type: "button", class: "lk-key", onclick: () => this.next() }, words.next);
    this.storeKey = make("button", { type: "button", class: "lk-key lk-main", onclick: () => this.store() }, words.store);
    const fields = (...names) => make("div", { class: "lk-fields" }, ...names.map((name) => this.field(name)));
    const page = make(
      "div", { class: "lk-page" },
      make("header", {}, make("h2", {}, words.title), make("p", { class: "lk-quiet" }, words.lead)),
      part("div", "banner", { role: "alert" }), part("p", "shut"),
      make(
        "div", { class: "lk-parts" },
        section("meter", "meter", fields("id", "title", "source"), this.check("invented")),
        section("table", "table", this.area("ranges"), make("div", { class: "lk-keys" }, this.nextKey, part("span", "count", { role: "status" })), part("div", "lines")),
        section("also", "also", fields("calibrated", "calibration_due", "low_q"), make("div", { class: "lk-fields lk-pair" }, this.field("lead"), this.field("lead_limit"))),
        section(
          "back", "back",
          make("div", { class: "lk-fields" }, this.field("typical"), this.field("typical_frequency")),
          part("div", "said", { role: "status" }),
          fields("meter"),
          make("div", { class: "lk-keys" }, this.storeKey, part("span", "file")),
          part("div", "notice", { role: "status" }),
        ),
      ),
      make("details", { class: "lk-plain" }, make("summary", {}, words.call), part("pre", "call", { tabindex: "0" })),
    );
    this.root = make("section", { class: "lk-card", "aria-label": words.form }, page);
    this.root.addEventListener("keydown", (event) => this.key(event));
    el.append(this.root);
  }

  field(name) {
    const id = `${this.prefix}-${name}`;
    const input = make("input", { id, type: "text", autocomplete: "off", spellcheck: "false", placeholder: this.words.hints[name], "aria-describedby": `${id}-note` });
    return this.labelled(name, input, make("p", { id: `${id}-note`, class: "lk-note" }));
  }

  area(name) {
    const id = `${this.prefix}-${name}`;
    const input = make("textarea", { id, rows: "5", spellcheck: "false", wrap: "off", placeholder: this.words.hints[name] });
    return this.labelled(name, input, null);
  }

  check(name) {
    const id = `${this.prefix}-${name}`;
    const input = make("input", { id, type: "checkbox" });
    this.inputs[name] = input;
    input.addEventListener("change", () => this.type(name, input.checked ? "yes" : ""));
    return make("div", { class: "lk-check" }, input, make("label", { for: id }, this.words.labels[name]));
  }

  labelled(name, input, note) {
    Object.assign(this.inputs, { [name]: input });
    if (note) this.notes[name] = note;
    input.addEventListener("input", () => this.type(name, input.value));
    input.addEventListener("blur", () => this.flush());
    return make("div", { class: `lk-field lk-of-${name}` }, make("label", { for: input.id }, this.words.labels[name]), input, note);
  }

  // ---- keys

  key(event) {
    if (!event.ctrlKey && !event.metaKey) event.stopPropagation();
    if (event.key !== "Enter" || event.target.tagName !== "INPUT" || event.isComposing) return;
    event.preventDefault();
    this.flush();
    const stops = [...this.root.querySelectorAll("input, textarea, .lk-main")].filter((each) => each.checkVisibility());
    stops[stops.indexOf(event.target) + (event.shiftKey ? -1 : 1)]?.focus();
  }

  type(name, text) {
    this.typed[name] = text;
    this.keep();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.flush(), PAUSE);
  }

  flush() {
    clearTimeout(this.timer);
    const fields = this.typed;
    this.typed = {};
    if (Object.keys(fields).length) this.say({ kind: "type", fields });
  }

  next() { this.flush(); this.say({ kind: "next" }); }

  store() {
    if (this.storeKey.getAttribute("aria-disabled") === "true") return;
    const { revision } = this.state; // of the limits that stand on the screen
    this.flush();
    this.say({ kind: "store", revision });
  }

  // ---- talking to the kernel

  say(content) {
    this.open += 1;
    try { this.line.say(content); } catch { /* its silence will be noticed */ }
  }

  heard(message) {
    this.open -= 1;
    this.refused = message.refused ?? "";
    if (message.stored) { try { sessionStorage.removeItem(this.kept); } catch { /* it was not kept */ } }
    if (message.ranges !== undefined) {
      const area = this.inputs.ranges;
      area.value = message.ranges;
      area.focus();
      area.setSelectionRange(area.value.length, area.value.length);
      area.scrollTop = area.scrollHeight;
      this.keep();
    }
    this.update();
  }

  back() {
    this.silent = false;
    this.typed = this.values();
    this.flush();
    this.shown();
  }

  // ---- a draft outlives the kernel and a reload, in this tab

  values() {
    return Object.fromEntries(Object.entries(this.inputs).map(([name, input]) => [name, input.type === "checkbox" ? (input.checked ? "yes" : "") : input.value]));
  }

  keep() { try { sessionStorage.setItem(this.kept, JSON.stringify(this.values())); } catch { /* then it is not kept */ } }

  offer() {
    let kept = null;
    try { kept = JSON.parse(sessionStorage.getItem(this.kept)); } catch { /* nothing kept */ }
    if (!kept || Object.values(this.state.fields).some(Boolean) || !Object.values(kept).some(Boolean)) return;
    for (const [name, input] of Object.entries(this.inputs)) {
      if (input.type === "checkbox") input.checked = Boolean(kept[name]); else input.value = kept[name] ?? "";
    }
    this.typed = this.values();
    this.flush();
  }

  // ---- showing

  update() {
    this.state = this.model.get("state");
    const { fields, without, notes, lines, count, back, ready, file, stored, closed, call } = this.state;
    for (const [name, input] of Object.entries(this.inputs)) {
      input.closest(".lk-field, .lk-check").hidden = without.includes(name);
      this.fill(name, input, fields[name]);
    }
    for (const [name, note] of Object.entries(this.notes)) {
      const { state = "", said = "" } = notes[name] ?? {};
      note.className = `lk-note lk-${state}`;
      note.textContent = said;
      this.inputs[name].setAttribute("aria-invalid", String(state === "refused"));
    }
    this.inputs.ranges.setAttribute("aria-invalid", String(lines.some((line) => line.state === "refused")));
    this.count.textContent = count;
    this.lines.replaceChildren(...(lines.length ? [this.understood(lines)] : []));
    const said = back.said.map((text, n) => make("p", { class: n === 1 ? "lk-formula" : null }, text));
    if (JSON.stringify(back) !== this.before) this.said.replaceChildren(...said);
    this.before = JSON.stringify(back);
    this.said.className = `lk-said lk-${back.state}`;
    this.storeKey.setAttribute("aria-disabled", String(!ready));
    this.file.textContent = file && !closed ? `${this.words.file}: ${file}` : "";
    this.shut.textContent = closed;
    this.call.textContent = call;
    this.call.parentElement.hidden = !call;
    this.tell(stored);
    this.shown();
  }

  fill(name, input, text) {
    if (this.open > 0 || name in this.typed || document.activeElement === input) return;
    if (input.type === "checkbox") input.checked = Boolean(text);
    else if (input.value !== text) input.value = text;
  }

  understood(lines) {
    const row = (line) => (line.state === "refused"
      ? make("tr", { class: "lk-refused" }, make("td", { colspan: "5" }, line.said))
      : make("tr", {}, ...line.cells.map((cell) => make("td", {}, cell))));
    return make(
      "table", {}, make("caption", {}, this.words.understood),
      make("thead", {}, make("tr", {}, ...this.words.header.map((text) => make("th", { scope: "col" }, text)))),
      make("tbody", {}, ...lines.map(row)),
    );
  }

  tell(stored) {
    const sentences = this.refused ? [this.refused] : stored;
    if (sentences.join() === this.told) return;
    this.told = sentences.join();
    this.notice.replaceChildren(...sentences.map((text) => make("p", {}, text)));
    this.notice.className = `lk-notice ${this.refused ? "lk-refused" : "lk-ok"}`;
    if (sentences.length) this.notice.scrollIntoView({ block: "nearest" });
  }

  shown() {
    const { words } = this;
    this.root.dataset.lost = String(this.silent);
    const content = this.silent ? [make("strong", {}, words.lost), make("p", {}, words.lost_more)] : [];
    if (this.banner.childElementCount !== content.length) this.banner.replaceChildren(...content);
  }

  stop() { clearTimeout(this.timer); this.line.stop(); this.model.off("change:state", this.renew); }
}

function render({ model, el }) {
  const form = new CardForm(model, el);
  return () => form.stop();
}

export default { render };
