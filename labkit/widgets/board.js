// A board: at the left the part with clips and ties to be moved by hand, its drawing in the middle, what it is
// and what it should read at the right, and below the derivation, one step at a time.
//
// The kernel holds the wiring. Only what is in the hand (a clip, or one end of a tie) and which step of the
// derivation is shown live here.

const REST = 2000; // ms after which a look at the board asks whether the record has grown

function render({ model, el }) {
  const state = () => model.get("state");
  const t = state().texts;
  const wired = Boolean(state().hand);
  const many = wired && state().hand.windings.length > 2;
  const line = connect(model, { answered, lost, found });
  let spoken = 0;
  let written = 0; // number of the last message that said what is typed

  function say(content) {
    spoken = Date.now();
    const number = line.say(content);
    if (content.do === "write") written = number;
  }
  const lostNote = make("p", { class: "lk-board-lost", role: "alert" });
  const said = make("p", { class: "lk-board-said", "aria-live": "polite" });
  const notation = notationForm(t, (text) => say({ do: "write", text }));
  const picture = make("div", { class: "lk-board-drawing" });
  const aloud = make("p", { class: "lk-board-aloud" });
  const name = make("p", { class: "lk-board-name" });
  const remarks = make("div", { class: "lk-board-remarks" });
  const hand = wired ? handOf(state(), t, say, said) : null; // which holds `said` where it can be seen
  const figures = wired ? figuresOf(t) : null;
  const steps = stepperOf(t, wired);

  const shown = make("div", { class: "lk-board-shown" }, picture, aloud, notation.element);
  const answer = make("div", { class: "lk-board-answer" }, name, remarks, figures && figures.element);
  const parts = wired ? [hand.element, shown, answer, steps.element] : [answer, shown, steps.element];
  const root = make("section", {
    class: `lk-board ${wired ? "lk-board-wired" : "lk-board-stepping"} ${many ? "lk-board-many" : ""}`,
    "aria-label": t.title,
    tabindex: wired ? null : "0",
  }, make("div", { class: "lk-board-sheet" }, lostNote, ...parts, wired ? null : said));

  let key = null;
  function show() {
    const now = state();
    picture.innerHTML = now.drawing;
    aloud.textContent = now.spoken;
    name.textContent = now.name;
    remarks.replaceChildren(...now.remarks.map((remark) => make("p", {}, remark)));
    said.textContent = now.said;
    notation.show(now.wiring);
    if (wired) { hand.show(now.hand); figures.show(now.hand); }
    if (now.key !== key) {
      key = now.key;
      steps.wait(now.first_step);
      requestAnimationFrame(() => say({ do: "derive" }));
    }
  }

  function answered(message) {
    if (message.answer === written) notation.refuse(message.refused ?? "");
    else if (message.refused) said.textContent = message.refused;
    if (message.derivation && message.key === state().key) steps.show(message.derivation);
  }
  function lost(content) { if (content.do !== "look") lostNote.textContent = t.lost; }
  function found() { lostNote.textContent = ""; }

  function look(event) {
    if (event.type === "focusin" && root.contains(event.relatedTarget)) return;
    if (Date.now() - spoken > REST) say({ do: "look" });
  }

  // Plain keys end here: the notebook around would take a or b for a new cell, and x would cut this one.
  function pressed(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    event.stopPropagation();
    if (event.target.tagName === "INPUT") return;
    const taken = steps.key(event, !wired) || (hand !== null && hand.key(event));
    if (taken) event.preventDefault();
  }

  root.addEventListener("focusin", look);
  root.addEventListener("pointerenter", look);
  root.addEventListener("keydown", pressed);
  model.on("change:state", show);
  el.append(root);
  show();
  return () => { line.stop(); model.off("change:state", show); };
}

// ---- the part, its ends, the clips

function handOf(first, t, say, said) {
  let held = null; // { clip: 0 or 1 } or { end: "1a" }
  let typed = ""; // a winding's number that waits for its end
  const ends = new Map();
  const clips = t.clip_keys.map((text, n) => make("button", {
    type: "button", class: "lk-board-clip", "data-clip": n, onclick: () => hold({ clip: n }),
  }, text));
  const windings = first.hand.windings.map(column);
  const undo = make("button", { type: "button", onclick: () => say({ do: "undo" }) }, t.undo);
  const unknown = make("button", { type: "button", onclick: () => say({ do: "forget dots" }) }, t.dots_unknown);
  const element = make("div", { class: "lk-board-hand", role: "group", "aria-label": t.hand },
    make("div", { class: "lk-board-clips" }, ...clips),
    make("div", { class: "lk-board-part" }, ...windings.map((winding) => winding.element)),
    make("div", { class: "lk-board-tools" }, undo, unknown),
    said,
    make("p", { class: "lk-board-how" }, t.how),
    make("p", { class: "lk-board-keys" }, t.keys));
  drag();

  function column(winding) {
    const [upper, lower] = winding.ends.map(endKey);
    const dot = make("button", {
      type: "button", class: "lk-board-dot", onclick: () => say({ do: "dot", winding: winding.number }),
    });
    const turn = make("button", {
      type: "button", class: "lk-board-turn", "aria-label": winding.turn_label,
      onclick: () => say({ do: "turn", winding: winding.number }),
    }, t.turn);
    const coil = make("div", { class: "lk-board-coil", style: `border-color: ${winding.colour}` },
      make("span", { class: "lk-board-winding" }, winding.name), dot, turn);
    return { dot, element: make("div", { class: "lk-board-column" }, upper, coil, lower) };
  }

  function endKey({ name }) {
    const clip = make("span", { class: "lk-board-sleeve" });
    const tied = make("span", { class: "lk-board-tied" });
    const key = make("button", {
      type: "button", class: "lk-board-end", "data-end": name, onclick: () => press(name),
    }, make("span", { class: "lk-board-endname" }, name), clip, tied);
    ends.set(name, { key, clip, tied });
    return key;
  }

  function hold(what) {
    held = held && (held.clip === what.clip && held.end === what.end) ? null : what;
    typed = "";
    mark();
    if (!held) said.textContent = "";
    else if (held.end) said.textContent = t.holding_end.replace("{end}", held.end);
    else said.textContent = t.holding_clip.replace("{clip}", capital(t.clip_keys[held.clip]));
  }

  function press(name) {
    const was = held;
    if (!was || was.end === name) { hold({ end: name }); return; }
    held = null;
    mark();
    say(was.end ? { do: "tie", ends: [was.end, name] } : { do: "clip", clip: was.clip, on: name });
  }

  function mark() {
    clips.forEach((key, n) => key.setAttribute("aria-pressed", String(held?.clip === n)));
    ends.forEach(({ key }, name) => key.setAttribute("aria-pressed", String(held?.end === name)));
  }

  function show(now) {
    for (const winding of now.windings) {
      for (const end of winding.ends) {
        const { key, clip, tied } = ends.get(end.name);
        key.setAttribute("aria-label", end.label);
        clip.textContent = end.clips.join(" + ");
        tied.textContent = end.tied;
      }
      const { dot } = windings[winding.number - 1];
      dot.textContent = winding.dot_text;
      dot.setAttribute("aria-label", winding.dot_label);
    }
    undo.setAttribute("aria-disabled", String(!now.undo));
    unknown.setAttribute("aria-pressed", String(!now.dots_known));
    mark();
  }

  // A wiring is typed as it is written: 1a2b ties, f1a and s2b move a clip.
  function key(event) {
    const pressed = event.key.toLowerCase();
    const at = event.target.dataset?.end;
    const numbers = first.hand.windings.map((winding) => String(winding.number));
    if (typed && (pressed === "a" || pressed === "b")) {
      const name = typed + pressed;
      typed = "";
      if (ends.has(name)) { ends.get(name).key.focus(); press(name); }
      return true;
    }
    if (numbers.includes(pressed)) { typed = pressed; return true; }
    typed = "";
    if (pressed === "f" || pressed === "s") { hold({ clip: pressed === "f" ? 0 : 1 }); return true; }
    if (pressed === "u") { say({ do: "undo" }); return true; }
    if (pressed === "escape" && held) { hold(held); return true; }
    if (at && pressed.startsWith("arrow")) { step(at, pressed); return true; }
    return false;
  }

  function step(at, way) {
    const number = parseInt(at, 10);
    const end = at.slice(-1);
    const to = {
      arrowleft: `${number - 1}${end}`, arrowright: `${number + 1}${end}`, arrowup: `${number}a`, arrowdown: `${number}b`,
    }[way];
    ends.get(to)?.key.focus();
  }

  // With the mouse, pull a wire from end to end, or a clip to an end.
  function drag() {
    let from = null;
    element.addEventListener("pointerdown", (event) => {
      from = event.target.closest("[data-end], [data-clip]");
    });
    element.addEventListener("pointerup", (event) => {
      const to = document.elementFromPoint(event.clientX, event.clientY)?.closest("[data-end]");
      if (from && to && to !== from && element.contains(to)) {
        held = from.dataset.end ? { end: from.dataset.end } : { clip: Number(from.dataset.clip) };
        press(to.dataset.end);
      }
      from = null;
    });
  }

  return { element, show, key };
}

// ---- the wiring as text

function notationForm(t, write) {
  const input = make("input", {
    class: "lk-board-text", type: "text", spellcheck: "false", autocomplete: "off", "aria-label": t.notation,
  });
  const refusal = make("p", { class: "lk-board-refusal", role: "alert" });
  const build = () => write(input.value);
  const element = make("div", { class: "lk-board-notation" },
    make("label", {}, make("span", {}, t.notation), input),
    make("button", { type: "button", onclick: build }, t.build), refusal);
  input.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    build();
  });
  let built = "";

  return {
    element,
    show(wiring) {
      if (input.value === built || document.activeElement !== input || wiring !== built) input.value = wiring;
      built = wiring;
    },
    refuse(sentence) {
      refusal.textContent = sentence;
      if (sentence) input.setAttribute("aria-invalid", "true"); else input.removeAttribute("aria-invalid");
    },
  };
}

// ---- what the meter should read

function figuresOf(t) {
  let covered = false;
  let now = { rows: [], notes: [] };
  const body = make("tbody");
  const head = make("tr", {}, ...t.header.filter(Boolean).map((text) => make("th", { scope: "col" }, text)));
  const table = make("table", {}, make("caption", {}, t.prediction_title), make("thead", {}, head), body);
  const cover = make("button", { type: "button", class: "lk-board-cover", onclick: () => { covered = !covered; draw(); } });
  const notes = make("div", { class: "lk-board-notes" });
  const element = make("div", { class: "lk-board-figures" }, table, cover, notes);

  function draw() {
    table.hidden = cover.hidden = now.rows.length === 0;
    cover.textContent = covered ? t.uncover : t.cover;
    cover.setAttribute("aria-pressed", String(covered));
    body.replaceChildren(...now.rows.flatMap(([what, ...cells]) => [
      make("tr", {}, make("th", { scope: "rowgroup", colspan: cells.length }, what)),
      make("tr", {}, ...cells.map((cell) => make("td", {}, covered && cell ? t.covered : cell || "–"))),
    ]));
    notes.replaceChildren(...now.notes.map((note) => make("p", {}, note)));
  }
  return { element, show(state) { now = state; draw(); } };
}

// ---- the derivation

function stepperOf(t, wired) {
  let derivation = null;
  let at = -1;
  let start = -1;
  const formula = make("div", { class: "lk-board-formula" });
  const title = make("p", { class: "lk-board-title" });
  const sentence = make("p", { class: "lk-board-sentence" });
  const formulas = make("div", { class: "lk-board-formulas", tabindex: "0", role: "group", "aria-label": t.derivation });
  const step = make("div", { class: "lk-board-step", "aria-live": "polite" }, title, sentence);
  const count = make("span", { class: "lk-board-count" });
  const key = (text, where) => make("button", { type: "button", onclick: () => go(where()) }, text);
  const back = key(t.back, () => at - 1);
  const next = key(t.next, () => at + 1);
  const home = key(t.formula, () => -1);
  const end = key(t.to_figures, () => derivation?.figures ?? at);
  next.classList.add("lk-board-next");
  const walk = make("div", { class: "lk-board-walk" },
    back, next, home, end, count, make("span", { class: "lk-board-keys" }, t.step_keys));
  const sheet = make("div", {}, step, formulas);
  const page = make("div", { class: "lk-board-page" }, sheet);
  const order = wired ? [formula, walk, page] : [walk, formula, page]; // alone, the keys stay where they are
  const element = make("div", { class: "lk-board-steps", role: "group", "aria-label": t.derivation }, ...order);
  new ResizeObserver(fit).observe(element);

  function go(where) {
    if (!derivation) return;
    const to = Math.max(-1, Math.min(derivation.steps.length - 1, where));
    if (to === at) return;
    at = to;
    draw();
    element.scrollIntoView({ block: "nearest" });
  }

  function draw() {
    const told = derivation?.steps[at];
    const total = derivation ? derivation.steps.length : 0;
    formula.innerHTML = derivation ? derivation.formula.html : "";
    if (!derivation) formula.textContent = t.working;
    formula.hidden = !wired && at >= 0;
    title.textContent = told ? told.title : "";
    sentence.textContent = told ? told.sentence : "";
    formulas.innerHTML = told ? told.formulas.join("") : "";
    page.hidden = !told;
    count.textContent = told ? t.count.replace("{number}", at + 1).replace("{total}", total) : "";
    next.textContent = at < 0 ? t.start : t.next;
    next.setAttribute("aria-disabled", String(at >= total - 1));
    back.setAttribute("aria-disabled", String(at < 0));
    home.setAttribute("aria-disabled", String(at < 0));
    end.hidden = !derivation || derivation.figures === null;
    fit();
  }

  // Letters as large as the room allows: a long line or a long step shrinks until it is seen whole.
  function fit() {
    shrink(formula, () => formula.scrollWidth > formula.clientWidth + 1);
    if (page.hidden) return;
    sheet.style.setProperty("--lk-size", 1);
    shrink(formulas, () => formulas.scrollWidth > formulas.clientWidth + 1);
    if (!wired) shrink(sheet, () => sheet.scrollHeight > page.clientHeight + 1);
  }

  // A pointer for talks sends the page keys; Enter on another button means that button.
  function pressed(event, everywhere) {
    if (!everywhere && !element.contains(event.target)) return false;
    const onButton = event.target.tagName === "BUTTON";
    const jumps = {
      ArrowRight: at + 1, PageDown: at + 1, ArrowLeft: at - 1, PageUp: at - 1, Home: -1,
      End: derivation?.figures ?? (derivation ? derivation.steps.length - 1 : -1),
      ...(onButton ? {} : { Enter: event.shiftKey ? at - 1 : at + 1 }),
    };
    if (!(event.key in jumps)) return false;
    go(jumps[event.key]);
    return true;
  }

  draw();
  return {
    element,
    key: pressed,
    wait(first) { derivation = null; start = first; at = -1; draw(); },
    show(found) { derivation = found; at = start; draw(); },
  };
}

function shrink(element, tooLarge) {
  for (let percent = 100; percent >= 50; percent -= 5) {
    element.style.setProperty("--lk-size", percent / 100);
    if (!tooLarge()) return;
  }
}

function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

export default { render };
