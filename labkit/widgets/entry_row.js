// A planned wiring, or a reading that belongs to none. One row is open at a time.
class Row {
  constructor(form, data) {
    Object.assign(this, { form, data, wanted: false });
    const { words } = form;
    const onChange = () => this.show();
    const inductance = (name, label) => ({ name, label, kind: "inductance", hint: words.hint, value: "" });
    const options = (what, kept) => ({
      key: `${data.id}/${kept}`, onChange, onEnter: (event) => this.press(event, what),
    });
    const expected = { name: "prediction", label: words.yourPrediction, kind: "prediction", hint: words.expectHint, value: "" };
    this.prediction = new Field(form, expected, options("prediction", "prediction"));
    this.reading = new Field(form, inductance("shown", words.display), options("shown", "shown"));
    const second = { name: "second", label: words.second, kind: "second", hint: words.secondHint, value: "" };
    this.second = new Field(form, second, options("shown", "second"));
    this.special = [];
    this.build(words);
  }

  build(words) {
    const span = (name) => make("span", { class: name });
    const id = this.form.id();
    this.picture = make("div", { class: "lk-picture", onclick: () => this.form.go(this) });
    [this.label, this.name, this.notation] = ["lk-label", "lk-name", "lk-notation"].map(span);
    [this.own, this.value, this.factor, this.badge] = ["lk-own", "lk-value", "lk-factor", "lk-badge"].map(span);
    this.verdict = span("lk-verdict");
    this.head = make(
      "button",
      { type: "button", class: "lk-head", "aria-controls": id, onclick: () => this.form.go(this), onkeydown: (e) => this.press(e, "head") },
      make("span", { class: "lk-what" }, this.label, this.name, this.notation), this.own, this.value, this.factor, this.badge, this.verdict,
    );
    const key = (text, what) => make("button", { type: "button", class: "lk-key lk-main", onclick: () => this.enter(what) }, text);
    [this.spoken, this.lockedIn, this.closed] = ["lk-spoken", "lk-locked", "lk-refusal"].map((name) => make("p", { class: name }));
    this.entries = make("ul", { class: "lk-entries" });
    this.differs = make("div", { class: "lk-fields" });
    this.ask = make("div", { class: "lk-ask" }, this.prediction.element, key(words.commit, "prediction"));
    this.take = make(
      "div", { class: "lk-take" },
      make("div", { class: "lk-ask" }, this.reading.element, this.second.element, key(words.store, "shown")),
      make("details", {}, make("summary", {}, words.special), this.differs),
    );
    this.again = make("button", { type: "button", class: "lk-key", onclick: () => this.readAgain() }, words.again);
    this.late = make("button", { type: "button", class: "lk-key", onclick: () => this.expectLate() }, words.lateKey);
    this.mend = make("div", { class: "lk-mend" });
    this.body = make("div", { class: "lk-body", id }, this.spoken, this.closed, this.lockedIn, this.ask, this.entries, this.take, make("div", { class: "lk-keys" }, this.again, this.late));
    this.element = make("li", { class: "lk-row", "data-row": this.data.id }, this.picture, this.head, this.body, this.mend);
  }

  get standing() { return this.data.entries.filter((entry) => !entry.withdrawn); }

  field(what) { return what === "prediction" ? this.prediction : this.reading; }

  // Whether this is a field that a person can type into now.
  open(what) {
    if (what === "head") return true;
    if (!this.form.entering || this.data.closed) return false;
    if (what === "prediction") return this.data.predict || (this.data.missed && this.lateWanted) || Boolean(this.prediction.text);
    const first = !this.standing.length && !(this.data.predict && this.prediction.mark !== "storing");
    return Boolean(this.data.next) && (first || this.wanted || Boolean(this.reading.text));
  }

  awaits(what) { return this.open(what) && !(what === "prediction" && this.data.missed) && this.field(what).mark !== "storing" && !this.standing.length; }

  update(data) {
    const before = this.amendable;
    this.data = data;
    this.amendable = JSON.stringify([data.entries, Boolean(this.form.state.closed)]);
    this.specialise(JSON.stringify(this.form.state.special));
    const drawing = this.form.model.get("pictures")[data.notation] ?? "";
    if (this.drawn !== drawing) { this.drawn = drawing; this.picture.innerHTML = drawing; } // made by labkit
    if (before !== this.amendable) this.list();
    this.label.textContent = data.label;
    this.name.textContent = data.name;
    this.notation.textContent = data.notation;
    this.spoken.textContent = data.spoken;
    this.closed.textContent = data.closed;
    this.show();
  }

  // What may differ for one reading depends on the meters that the bench has.
  specialise(about) {
    if (about === this.differing) return;
    this.differing = about;
    this.special = JSON.parse(about).map((each) => new Field(this.form, each, { onChange: () => this.show() }));
    this.differs.replaceChildren(...this.special.map((field) => field.element));
  }

  show() {
    const { words } = this.form;
    const { data, standing } = this;
    const showing = (element, yes) => { element.hidden = !yes; };
    const predicted = data.predicted.map(({ shown, notes }) => (notes.length ? `${shown} (${notes.join(", ")})` : shown)).join(" · ");
    const factor = data.factor.length ? ` · ${words.factor}: ${data.factor.join(" · ")}` : "";
    this.lockedIn.textContent = predicted ? `${words.yourPrediction}: ${predicted} · ${words.locked}${factor}` : words.missed;
    showing(this.lockedIn, predicted || data.missed);
    showing(this.ask, this.open("prediction"));
    showing(this.take, this.open("shown"));
    showing(this.late, this.form.entering && data.missed && !this.open("prediction"));
    this.prediction.label.textContent = data.missed ? words.lateExpected : words.yourPrediction;
    this.factor.replaceChildren(...(data.factor.length ? [make("span", { class: "lk-aloud" }, words.factor), data.factor.join(" · ")] : []));
    this.verdict.textContent = data.verdict;
    showing(this.verdict, data.verdict);
    showing(this.again, this.form.entering && data.next && !this.open("shown"));
    this.again.textContent = standing.length ? words.again : words.anyway;
    this.reading.label.textContent = data.next?.repeat ? words.displayAgain.replace("{n}", data.next.repeat) : words.display;
    const own = predicted || this.prediction.text || (data.predict ? words.unpredicted : data.missed ? words.missed : "");
    const value = standing.map((entry) => entry.shown).join(" · ") || this.reading.text || words.awaited;
    this.own.replaceChildren(make("span", { class: predicted ? "lk-is-locked" : this.prediction.text ? "lk-typed" : "lk-none" }, own));
    if (predicted) this.own.append(make("span", { class: "lk-aloud" }, words.locked));
    this.value.replaceChildren(make("span", { class: standing.length ? "lk-is-stored" : this.reading.text ? "lk-typed" : "lk-none" }, value));
    const state = this.state();
    this.badge.textContent = words[state] ?? "";
    this.element.dataset.state = state;
    this.form.shown();
  }

  // What has become of this row's texts, the worst first.
  state() {
    const fields = [this.prediction, this.reading, this.second];
    const marks = ["lost", "refused", "storing"].find((mark) => fields.some((field) => field.mark === mark));
    return marks ?? (fields.some((field) => field.text) ? "unsaved" : this.standing.length ? "stored" : "awaited");
  }

  list() {
    const { words } = this.form;
    const key = (name, entry) => make(
      "button", { type: "button", class: "lk-key", "aria-label": `${words[name]}: ${entry.shown}`, onclick: () => this.amend(name, entry.id) }, words[name],
    );
    const keys = (entry) => (!this.form.state.closed && !entry.withdrawn ? [key("correct", entry), key("withdraw", entry)] : []);
    const notes = (entry) => [
      ...entry.changes.map(({ was, reason }) => make("p", { class: "lk-change" }, `${words.changed} `, make("s", {}, was), `: ${reason}`)),
      ...entry.marks.map((mark) => make("p", { class: "lk-flag" }, mark)),
      ...(entry.withdrawn ? [make("p", { class: "lk-flag" }, entry.withdrawn)] : []),
    ];
    const lines = this.data.entries.map((entry) => make(
      "li", { class: entry.withdrawn ? "lk-gone" : "" },
      make(entry.withdrawn ? "s" : "span", { class: "lk-digits" }, entry.shown),
      make("div", { class: "lk-keys" }, ...keys(entry)),
      make("div", {}, make("p", { class: "lk-facts" }, entry.facts), ...notes(entry)),
    ));
    this.entries.replaceChildren(...lines);
  }

  press(event, what) {
    const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (step) { event.preventDefault(); this.form.beside(this, what, step); }
    if (event.key !== "Enter" || what === "head") return;
    event.preventDefault();
    if (event.shiftKey) this.form.back(this, what);
    else this.enter(what);
  }

  enter(what) { if (this.store(what)) this.form.next(this, what); else this.field(what).focus(); }

  // Send what was typed; false if it is known not to be understood, so that the person stays with it.
  store(what) {
    const field = this.field(what);
    const sides = what === "prediction" ? [] : [this.second, ...this.special];
    const wrong = [field, ...sides].find((each) => each.refused);
    if (wrong) { wrong.refuse(wrong.beside.textContent, [...wrong.choices.children].map((key) => key.textContent)); return false; }
    if (!field.text) return true;
    const values = Object.fromEntries(sides.map((each) => [each.about.name, each.text]));
    field.mark = "storing";
    this.wanted = false;
    this.form.ask(
      { kind: "store", row: this.data.id, what: what === "prediction" ? what : "reading", shown: field.text, ...this.data.next, ...values },
      (answer) => this.answered(field, sides, answer),
      () => { field.mark = "lost"; this.show(); },
    );
    this.show();
    return true;
  }

  answered(field, sides, answer) {
    if (answer.refused === undefined) {
      [field, ...sides].forEach((each) => each.clear());
      this.form.announce(answer.said.join(" "), true);
    } else {
      const named = [field, ...sides].find((each) => each.about.name === answer.field) ?? field;
      named.refuse(answer.refused, answer.choices);
      this.form.announce(`${this.data.label}: ${this.form.words.refused}. ${answer.refused}`, true);
    }
    this.show();
  }

  expectLate() {
    this.lateWanted = true;
    this.show();
    this.prediction.focus();
  }

  readAgain() {
    this.wanted = true;
    this.show();
    this.reading.focus();
  }

  // What was kept over a reload and did reach the record need not be typed again.
  forget() {
    if (this.data.predicted.some((each) => each.typed === this.prediction.text)) this.prediction.clear();
    if (this.standing.some((entry) => entry.typed === this.reading.text)) this.reading.clear();
  }

  amend(name, id) {
    const close = () => { this.mend.replaceChildren(); this.head.focus(); };
    this.form.sheet({ name, id }, this.mend, close);
  }
}

