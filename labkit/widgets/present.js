// The presenting view: one page of a bench at a time, covered things revealed by key, and along the bottom the
// connections as posts on a wire.
//
// All pages are here; which one is open and what on it is revealed lives only here, so that nothing waits for
// the kernel. The kernel is asked again and again whether the record has grown.

const AGAIN = 3000; // ms between two looks at the record

function render({ model, el }) {
  const state = () => model.get("state");
  const t = state().texts;
  const line = connect(model, { answered, lost, found });
  const revealed = new Map(); // per record and page the names of what was revealed
  let which = 0; // 1 is the stored record
  let at = null; // key of the open page
  let asked = false; // whether an answer is awaited: a busy kernel is not asked twice
  let prepared = false;

  const parts = frameOf(t, { turn, reveal, hide, full, change, help });
  const { root, dialog } = parts;
  el.append(root, dialog);

  // ---- what is open

  const record = () => state().records[which] ?? state().records[0];
  const pages = () => record().pages;
  const index = () => Math.max(0, pages().findIndex((page) => page.key === at));
  const page = () => pages()[index()];
  const seen = () => {
    const key = `${which} ${page().key}`;
    if (!revealed.has(key)) revealed.set(key, new Set());
    return revealed.get(key);
  };

  const covered = (thing) => !thing.open && !seen().has(thing.name);

  function show() {
    if (which >= state().records.length) which = 0;
    at = page().key;
    parts.head(record(), page(), index() + 1, pages().length, which);
    parts.stations(record().stations, page().station, goTo);
    parts.sheet.replaceChildren(...drawn(page(), seen(), t));
    fit(parts.sheet);
    parts.covers(page().hidden.some((thing) => covered(thing)), seen().size > 0);
  }

  // ---- what keys and buttons do

  function open(number) {
    at = pages()[Math.min(Math.max(number, 0), pages().length - 1)].key;
    parts.note("");
    show();
    parts.speak(`${t.page.replace("{number}", index() + 1).replace("{total}", pages().length)}: ${page().title}`);
  }
  function turn(by) { open(index() + by); }
  function goTo(station) {
    const first = pages().findIndex((each) => each.station === station);
    if (first >= 0) open(first);
  }
  function reveal() {
    const next = page().hidden.find(covered);
    if (!next) { parts.speak(t.nothing); return; }
    seen().add(next.name);
    show();
    parts.speak(`${next.label}: ${next.text}`);
  }
  function hide() {
    seen().clear();
    show();
    parts.speak(t.hiddenAgain);
  }
  function change() {
    const now = state();
    if (!now.has_fallback || now.records.length < 2) {
      const why = now.has_fallback ? t.notReady : t.noStored;
      parts.note(why);
      parts.speak(why);
      return;
    }
    which = 1 - which;
    parts.note("");
    show();
    parts.speak([record().banner, t.switched.replace("{name}", record().name)].filter(Boolean).join(". "));
  }
  function full() {
    if (dialog.open) { dialog.close(); return; }
    dialog.append(root);
    dialog.showModal();
    parts.isFull(true);
    fit(parts.sheet);
    root.focus();
  }
  function help() { parts.help(); }

  function left() {
    el.insertBefore(root, dialog);
    parts.isFull(false);
    root.focus();
    root.scrollIntoView({ block: "nearest" });
  }

  const keys = {
    ArrowRight: () => turn(1), PageDown: () => turn(1), " ": () => turn(1),
    ArrowLeft: () => turn(-1), PageUp: () => turn(-1), Backspace: () => turn(-1),
    Enter: reveal, ArrowDown: reveal, r: reveal,
    h: hide, ArrowUp: hide,
    Home: () => open(0), End: () => open(pages().length - 1),
    f: full, s: change, "?": help,
  };

  function pressed(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const name = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if (name === "Escape" && parts.helpIsOpen()) { help(); event.preventDefault(); event.stopPropagation(); return; }
    if (event.target.tagName === "BUTTON" && (name === " " || name === "Enter")) return; // the button's own
    const does = keys[name] ?? (/^[0-9]$/.test(name) ? () => goTo((Number(name) + 9) % 10) : null);
    if (!does) return;
    event.preventDefault();
    event.stopPropagation();
    const explained = parts.helpIsOpen();
    if (explained) help();
    if (!explained || does !== help) does();
  }

  // ---- the record grows

  function look() {
    if (asked || !prepared || document.hidden) return;
    asked = true;
    line.say({ do: "again" });
  }
  function answered(message) {
    if (!prepared) prepared = true;
    asked = false;
    if (message.refused) parts.note(message.refused);
    if (message.said) parts.speak(message.said);
  }
  function lost(content) { if (content.do === "again") { parts.note(t.lost); asked = false; } }
  function found() { parts.note(""); }

  root.addEventListener("keydown", pressed);
  root.addEventListener("click", (event) => { if (event.detail > 0) root.focus(); }); // so that keys go on
  dialog.addEventListener("cancel", (event) => { if (parts.helpIsOpen()) { event.preventDefault(); help(); } });
  dialog.addEventListener("close", left);
  window.addEventListener("focus", look);
  root.addEventListener("focusin", look);
  model.on("change:state", show);
  const timer = setInterval(look, AGAIN);
  show();
  line.say({ do: "prepare" });
  return () => {
    clearInterval(timer);
    window.removeEventListener("focus", look);
    line.stop();
    model.off("change:state", show);
    if (dialog.open) dialog.close();
  };
}

// ---- what stays: banner, title, strip, buttons

function frameOf(t, does) {
  const banner = make("p", { class: "lk-present-banner", role: "status" });
  const title = make("h2", { class: "lk-present-title" });
  const aside = make("p", { class: "lk-present-aside" });
  const number = make("p", { class: "lk-present-number" });
  const sheet = make("div", { class: "lk-present-sheet" });
  const note = make("p", { class: "lk-present-note", role: "alert" });
  const spoken = make("p", { class: "lk-present-spoken", "aria-live": "polite" });
  const posts = make("ol", { class: "lk-present-posts" });
  const key = (text, name, action) => make("button", {
    type: "button", class: `lk-present-key lk-present-${name}`, onclick: action,
  }, text);
  const back = key(`← ${t.back}`, "back", () => does.turn(-1));
  const next = key(`${t.next} →`, "next", () => does.turn(1));
  const reveal = key(t.reveal, "reveal", does.reveal);
  const hide = key(t.hide, "hide", does.hide);
  const full = key(t.full, "full", does.full);
  const stored = key(t.stored, "stored", does.change);
  const help = key(`? ${t.help}`, "ask", does.help);
  const card = helpOf(t, does.help);
  const root = make("section", {
    class: "lk-present", tabindex: "0", "aria-label": t.title, "data-lm-suppress-shortcuts": "true",
  }, make("div", { class: "lk-present-bench" },
    banner,
    make("div", { class: "lk-present-head" }, title, aside, number),
    sheet, note, spoken,
    make("div", { class: "lk-present-strip" },
      make("nav", { "aria-label": t.stations }, posts),
      make("div", { class: "lk-present-keys" }, back, next, reveal, hide, stored, full, help)),
    card));
  const dialog = make("dialog", {
    class: "lk-present-overlay", "aria-label": t.title, "data-lm-suppress-shortcuts": "true",
  });

  function stations(list, open, goTo) {
    posts.replaceChildren(...list.map((station, n) => {
      const label = t.jump.replace("{label}", station.label).replace("{number}", (n + 1) % 10);
      const missing = station.done === false ? `, ${t.missing}` : "";
      return make("li", {}, make("button", {
        type: "button",
        class: `lk-present-post ${station.done === false ? "lk-present-empty" : ""} ${station.done === undefined ? "lk-present-bare" : ""}`,
        "aria-current": n === open ? "step" : null,
        "aria-label": n < 10 ? label + missing : station.label + missing,
        onclick: () => goTo(n),
      }, make("span", { class: "lk-present-knob", "aria-hidden": "true" }), station.label));
    }));
  }

  return {
    root, dialog, sheet, stations,
    head(record, page, at, total, which) {
      banner.replaceChildren(...(record.banner ? [record.banner, make("span", {}, record.name)] : []));
      root.classList.toggle("lk-present-is-stored", Boolean(record.banner));
      title.textContent = page.title;
      aside.textContent = [page.name ?? "", record.mark].filter(Boolean).join(" · ");
      number.textContent = t.page.replace("{number}", at).replace("{total}", total);
      stored.textContent = which ? t.live : t.stored;
    },
    covers(some, open) {
      reveal.setAttribute("aria-disabled", String(!some));
      hide.setAttribute("aria-disabled", String(!open));
    },
    isFull(yes) { full.textContent = yes ? t.leave : t.full; },
    note(text) { note.textContent = text; },
    speak(text) { spoken.textContent = text; },
    help() {
      card.hidden = !card.hidden;
      if (card.hidden) root.focus();
      else card.querySelector("button").focus();
    },
    helpIsOpen: () => !card.hidden,
  };
}

function helpOf(t, close) {
  const rows = t.keys.map(([keys, what]) => make("tr", {}, make("th", { scope: "row" }, keys), make("td", {}, what)));
  return make("div", { class: "lk-present-help", role: "dialog", "aria-label": t.help, hidden: true },
    make("table", {}, make("tbody", {}, ...rows)),
    make("button", { type: "button", class: "lk-present-key", onclick: close }, t.close));
}

// Letters as large as there is room for. All is measured in --u, so a fit holds for every size of the page.
function fit(sheet) {
  for (const each of sheet.querySelectorAll("[data-fit]")) {
    each.style.setProperty("--fit", 1);
    if (!each.clientWidth) continue;
    const room = Math.min(each.clientWidth / each.scrollWidth, each.clientHeight / each.scrollHeight);
    if (room < 1) each.style.setProperty("--fit", 0.98 * room);
  }
}

// ---- pages

function drawn(page, seen, t) {
  switch (page.kind) {
    case "connection": return connectionOf(page, seen, t);
    case "picture": return [pictureOf(page, "lk-present-wide")];
    case "step": return stepOf(page);
    default: return sentenceOf(page);
  }
}

// Pictures come from labkit with their texts escaped.
function pictureOf(page, name) {
  const box = make("div", { class: `lk-present-picture ${name}` });
  if (page.picture) box.innerHTML = page.picture;
  else box.textContent = page.alt;
  const svg = box.querySelector("svg");
  if (svg) { svg.setAttribute("role", "img"); svg.setAttribute("aria-label", page.alt); svg.removeAttribute("style"); }
  return box;
}

function connectionOf(page, seen, t) {
  const things = page.hidden.map((thing) => {
    const open = thing.open || seen.has(thing.name);
    return make("section", { class: `lk-present-thing lk-present-thing-${thing.name}`, "data-open": String(open) },
      make("h3", {}, thing.label),
      ...(open ? openedOf(thing) : [make("p", { class: "lk-present-cover" }, t.covered)]));
  });
  const missing = page.missing.map((text) => make("p", {}, text));
  return [
    pictureOf(page, "lk-present-beside"),
    make("div", { class: "lk-present-things" }, ...things,
      missing.length ? make("div", { class: "lk-present-missing" }, ...missing) : null),
  ];
}

function openedOf(thing) {
  if (thing.sides) {
    return [make("div", { class: "lk-present-sides" }, ...["uncoupled", "coupled"].map((side) =>
      make("p", { class: `lk-present-side lk-present-side-${side}` },
        make("span", {}, thing.sides[side].label),
        thing.sides[side].gap ? make("i", {}, thing.sides[side].gap) : make("b", { "data-fit": true }, thing.sides[side].text))))];
  }
  const inLine = thing.name === "reading" || thing.name === "own";
  const text = make("p", { class: "lk-present-text", "data-fit": inLine }, thing.text);
  const facts = (thing.facts ?? []).map((fact) => make("span", {}, fact));
  return [text, facts.length ? make("p", { class: "lk-present-facts" }, ...facts) : null].filter(Boolean);
}

function stepOf(page) {
  const formulas = make("div", { class: "lk-present-formulas", "data-fit": true });
  formulas.innerHTML = page.formulas.join("");
  return [make("div", { class: "lk-present-step" },
    make("p", { class: "lk-present-above" }, page.above),
    make("p", { class: "lk-present-sentence" }, page.sentence), formulas)];
}

function sentenceOf(page) {
  const long = page.sentence.length > 240 ? "lk-present-long" : "";
  return [make("div", { class: `lk-present-said ${long}`, "data-tone": page.tone ?? "plain" },
    make("p", { class: "lk-present-sentence" }, page.sentence),
    page.note ? make("p", { class: "lk-present-facts" }, page.note) : null)];
}

export default { render };
