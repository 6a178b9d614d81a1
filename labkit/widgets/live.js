// What every live face shares: say something to the kernel, and know whether it was heard.
//
// Each message carries a number; the kernel answers with the same number once the message has been dealt
// with. Without an answer within PATIENCE the kernel is taken to be gone, and `lost` is called: what stands on
// the screen is then not in the record.

const PATIENCE = 1500; // ms; a normal answer takes a few dozen

function connect(model, { answered = () => {}, lost = () => {}, found = () => {} } = {}) {
  const waiting = new Map();
  let said = Math.floor(Math.random() * 2 ** 32) * 2 ** 16; // tabs on one kernel hear each other's answers
  let silent = false;

  function hear(message) {
    if (!waiting.has(message.answer)) return;
    clearTimeout(waiting.get(message.answer));
    waiting.delete(message.answer);
    if (silent) { silent = false; found(); }
    answered(message);
  }

  function say(content) {
    said += 1;
    const number = said;
    waiting.set(number, setTimeout(() => { silent = true; lost(content); }, PATIENCE));
    model.send({ ...content, number });
    return number;
  }

  model.on("msg:custom", hear);
  return { say, stop: () => { model.off("msg:custom", hear); waiting.forEach(clearTimeout); } };
}

// Build an element: make("button", { class: "lk-key", onclick: f }, "text or elements", ...)
function make(tag, attributes = {}, ...content) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...content.filter((part) => part !== null && part !== undefined));
  return element;
}
