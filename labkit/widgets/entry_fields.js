// What every part of the entry form is made of: a field that says how it is understood, and the small forms.

const PAUSE = 120; // ms after the last key until the kernel is asked how it understands the text

// What was typed and is not in the record outlives a reload of the page.
function keeper(record) {
  const name = `labkit.entry.${record}`;
  const all = () => { try { return JSON.parse(sessionStorage.getItem(name)) ?? {}; } catch { return {}; } };
  return {
    get: (key) => all()[key] ?? "",
    set: (key, text) => sessionStorage.setItem(name, JSON.stringify({ ...all(), [key]: text || undefined })),
  };
}

class Field {
  constructor(form, about, { key = "", onEnter = null, onChange = () => {} } = {}) {
    Object.assign(this, { form, about, key, onChange, mark: "", echo: { text: "", state: "empty" } });
    const id = form.id();
    const shared = { id, "aria-describedby": `${id}-echo` };
    if (about.kind === "choice") this.input = this.choice(shared);
    else if (about.kind === "text-area") this.input = make("textarea", { ...shared, rows: "4" });
    else if (about.kind === "check") this.input = make("input", { ...shared, type: "checkbox", checked: Boolean(about.value) });
    else {
      const off = { autocomplete: "off", autocapitalize: "off", spellcheck: "false" };
      this.input = make("input", { ...shared, ...off, type: "text", placeholder: about.hint });
      this.value = key ? form.kept.get(key) : about.value;
    }
    this.input.addEventListener("input", () => this.typed());
    if (onEnter) this.input.addEventListener("keydown", (event) => onEnter(event));
    this.beside = make("p", { class: "lk-echo", id: `${id}-echo` });
    this.choices = make("div", { class: "lk-choices", role: "group", "aria-label": about.kind === "prediction" ? form.words.meantExpected : form.words.meant });
    const one = about.kind === "choice";
    this.label = one ? make("legend", {}, about.label) : make("label", { for: id }, about.label);
    this.element = make(
      one ? "fieldset" : "div", { class: `lk-field lk-${about.kind === "prediction" ? "inductance" : about.kind} lk-of-${about.name}` },
      this.label, this.input, this.beside, this.choices,
    );
    if (this.value) this.look();
  }

  choice({ id }) {
    this.radios = this.about.options.map(([value, text]) => {
      const radio = make("input", { type: "radio", name: id, value, checked: value === this.about.value });
      return [radio, make("label", { class: "lk-pill" }, radio, text)];
    });
    return make("div", { class: "lk-pills" }, ...this.radios.map(([, pill]) => pill));
  }

  get value() {
    if (this.radios) return this.radios.find(([radio]) => radio.checked)?.[0].value ?? "";
    return this.about.kind === "check" ? this.input.checked : this.input.value;
  }

  set value(text) {
    if (this.radios) this.radios.forEach(([radio]) => { radio.checked = radio.value === text; });
    else this.input.value = text;
  }

  get text() { return this.about.kind === "check" ? "" : this.value.trim(); }

  focus() {
    const radios = this.radios?.map(([radio]) => radio);
    (radios ? radios.find((radio) => radio.checked) ?? radios[0] : this.input).focus({ preventScroll: true });
  }

  get looked() { return ["inductance", "prediction", "second", "frequency"].includes(this.about.kind); }

  // What the kernel said of this very text; nothing if it has not been asked about it yet.
  get refused() { return this.echo.text === this.text && this.echo.state === "refused"; }

  typed() {
    this.mark = "";
    this.beside.classList.toggle("lk-stale", this.echo.text !== this.text);
    if (this.key) this.form.kept.set(this.key, this.text);
    this.form.wonder();
    clearTimeout(this.timer);
    if (this.looked) this.timer = setTimeout(() => this.look(), this.text ? PAUSE : 0);
    this.onChange();
  }

  look() {
    const text = this.text;
    if (!this.looked) return;
    if (!text) { this.say({ state: "empty", said: "" }); return; }
    this.form.ask({ kind: "look", as: this.about.kind, text }, (echo) => text === this.text && this.say(echo));
  }

  say({ state, said, choices = [], flag = "" }) {
    this.echo = { text: this.text, state };
    this.beside.className = `lk-echo lk-${state}`;
    this.beside.replaceChildren(said, ...(flag ? [make("span", { class: "lk-flag" }, flag)] : []));
    this.input.setAttribute("aria-invalid", String(state === "refused"));
    this.choices.replaceChildren(...choices.map((entry) => make(
      "button", { type: "button", class: "lk-key", onclick: () => this.choose(entry) }, entry,
    )));
    if (this.input === document.activeElement) {
      this.form.announce(`${said} ${flag}`);
      this.element.closest(".lk-row, .lk-small")?.scrollIntoView({ block: "nearest" });
    }
    this.onChange();
  }

  choose(entry) {
    this.value = entry.split(" = ").at(-1);
    this.focus();
    this.typed();
  }

  refuse(said, choices = []) {
    this.mark = "refused";
    this.say({ state: "refused", said, choices });
  }

  clear() {
    this.value = "";
    this.typed();
  }
}

// A small form: what `labkit.faces.live.sheets` describes.
class Sheet {
  constructor(form, about, { done = () => {}, cancel = null } = {}) {
    Object.assign(this, { form, about, done });
    this.fields = about.fields.map((field) => new Field(form, field));
    this.refusal = make("p", { class: "lk-refusal", role: "alert" });
    const keys = [make("button", { type: "submit", class: "lk-key lk-main" }, about.button)];
    if (about.kind === "meter") keys.push(make("button", { type: "button", class: "lk-key", onclick: () => form.makeCard() }, form.words.makeCard));
    if (cancel) keys.push(make("button", { type: "button", class: "lk-key", onclick: cancel }, form.words.cancel));
    const long = about.text.length > 2;
    const text = about.text.map((each) => make(long ? "li" : "p", {}, each));
    this.element = make(
      "form", { class: `lk-small lk-of-${about.kind}`, novalidate: true, "aria-label": about.title },
      make("h3", {}, about.title, ...(about.count ? [make("span", { class: "lk-count" }, about.count)] : [])),
      make(long ? "ol" : "div", { class: "lk-text" }, ...text),
      make("div", { class: "lk-fields" }, ...this.fields.map((field) => field.element)),
      this.refusal,
      make("div", { class: "lk-keys" }, ...keys),
    );
    this.element.addEventListener("submit", (event) => { event.preventDefault(); this.send(); });
    this.element.addEventListener("keydown", (event) => { if (event.key === "Escape" && cancel) cancel(); });
  }

  focus() {
    this.fields[0].focus();
    this.element.scrollIntoView({ block: "nearest" });
  }

  send() {
    const fields = Object.fromEntries(this.fields.map((field) => [field.about.name, field.value]));
    const { kind, id } = this.about;
    this.refusal.textContent = "";
    this.form.ask({ kind, id, fields }, (answer) => {
      if (answer.refused === undefined) {
        if (id) this.form.wonder(id); // a correction may end a doubt, or begin one
        this.form.announce(answer.said.join(" "), true);
        this.done();
        return;
      }
      const field = this.fields.find((each) => each.about.name === answer.field);
      if (field) { field.refuse(answer.refused, answer.choices); field.focus(); }
      else this.refusal.textContent = answer.refused;
    }, () => { this.refusal.textContent = `${this.form.words.lost}. ${this.form.words.lostText}`; });
  }
}

