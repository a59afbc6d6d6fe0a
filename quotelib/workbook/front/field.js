// One labelled field of the workbook: label, help, control, and what is wrong, in words.
// Typing waits a moment before it is sent; leaving the field sends it at once.
const WAIT_MS = 40;
const GROUPS = ["ticks"];
let count = 0;

// What is typed is kept in the browser too, so that it survives a program that stops.
function keep(model, value) {
  const [where, session, row, name] = ["store", "session", "row", "name"].map((key) => model.get(key));
  if (!where) return;
  let kept = {};
  try {
    kept = JSON.parse(localStorage.getItem(where) || "{}");
  } catch {
    kept = {};
  }
  if (kept.session !== session) kept = { session, rows: {} };
  (kept.rows[row] ??= {})[name] = value;
  kept.saved = new Date().toISOString();
  try {
    localStorage.setItem(where, JSON.stringify(kept));
  } catch {
    // A browser that keeps nothing is no reason to stop typing.
  }
}

function field({ model, el }) {
  const kind = model.get("kind");
  const id = `ql-${model.get("name")}-${++count}`;
  // JupyterLab's one-letter commands must not fire while somebody chooses from a list.
  el.setAttribute("data-lm-suppress-shortcuts", "true");
  el.classList.add("ql-field", `ql-${kind}`);
  el.dataset.name = model.get("name");
  const help = make("div", { id: `${id}-help`, class: "ql-help" });
  const error = make("div", { id: `${id}-error`, class: "ql-error", "aria-live": "polite" });
  const notice = make("div", { id: `${id}-notice`, class: "ql-notice", "aria-live": "polite" });
  model.quotelibTyped = () => {
    if (model.get("asks")) el.dispatchEvent(new CustomEvent("ql-typed", { bubbles: true }));
  };
  el.addEventListener("ql-flush", () => model.quotelibFlush?.());
  const control = CONTROLS[kind](model, id, (words) => say(words));
  const label = make(GROUPS.includes(kind) ? "div" : "label", { id: `${id}-label`, class: "ql-label" });
  if (!GROUPS.includes(kind)) label.setAttribute("for", id);
  const input = control.input;
  input.setAttribute("aria-describedby", `${id}-help ${id}-notice ${id}-error`);
  el.append(label, help, control.node, notice, error);

  function say(words) {
    error.textContent = words;
    el.classList.toggle("ql-wrong", Boolean(words));
    if (words) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  }
  const listeners = {
    label: () => (label.textContent = model.get("label")),
    help: () => (help.textContent = help.title = model.get("help")),
    notice: () => (notice.textContent = model.get("notice")),
    error: () => say(model.get("error")),
    value: () => {
      control.show(model.get("value"));
      keep(model, model.get("value"));
    },
    options: () => control.options?.(),
    limits: () => control.limits?.(),
    prices: () => control.prices?.(),
  };
  control.options?.();
  control.limits?.();
  control.show(model.get("value"));
  for (const name of ["label", "help", "notice", "error"]) listeners[name]();
  for (const [name, listener] of Object.entries(listeners)) model.on(`change:${name}`, listener);
  // Asked to take the focus, it waits until it is in sight.
  const focus = () => requestAnimationFrame(() => {
    input.focus();
    input.select?.();
  });
  model.on("msg:custom", focus);
  return () => {
    model.off("msg:custom", focus);
    for (const [name, listener] of Object.entries(listeners)) model.off(`change:${name}`, listener);
  };
}

function sender(model) {
  let timer = null;
  let waiting = null;
  model.quotelibFlush = () => flush();
  function flush() {
    clearTimeout(timer);
    timer = null;
    if (waiting === null) return;
    const value = waiting;
    waiting = null;
    if (value === model.get("value")) return;
    model.quotelibTyped?.();
    model.set("value", value);
    model.save_changes();
  }
  return {
    busy: () => waiting !== null,
    flush,
    later(value) {
      waiting = value;
      keep(model, value);
      clearTimeout(timer);
      timer = setTimeout(flush, WAIT_MS);
    },
    now(value) {
      waiting = value;
      keep(model, value);
      flush();
    },
  };
}

function typed(model, id, attributes, tag = "input") {
  const input = make(tag, { id, autocomplete: "off", spellcheck: "false", ...attributes });
  const send = sender(model);
  input.addEventListener("input", () => send.later(input.value));
  input.addEventListener("change", () => send.now(input.value));
  const show = (value) => {
    if (!send.busy() && input.value !== value) input.value = value;
  };
  return { node: input, input, show };
}

function select(model, id) {
  const input = make("select", { id });
  const send = sender(model);
  input.addEventListener("change", () => send.now(input.value));
  const show = (value) => {
    // A value that is not on the list must stay visible: it is what was given.
    if (![...input.options].some((option) => option.value === value)) {
      input.append(make("option", { value }, value));
    }
    input.value = value;
  };
  const options = () => {
    const made = model.get("options").map((option) => {
      const item = make("option", {}, option.label);
      item.value = option.value;
      return item;
    });
    input.replaceChildren(...made);
    show(model.get("value"));
  };
  return { node: input, input, show, options };
}

function range(model, id) {
  const input = make("input", { id, type: "range" });
  const shown = make("output", { for: id, class: "ql-range-value" });
  const send = sender(model);
  const words = () => {
    const text = `${input.value} ${model.get("unit")}`.trim();
    shown.textContent = text;
    input.setAttribute("aria-valuetext", text);
  };
  input.addEventListener("input", () => {
    words();
    send.now(input.value);
  });
  const show = (value) => {
    if (!send.busy()) input.value = value;
    words();
  };
  const limits = () => {
    const [low, high, step] = model.get("limits");
    Object.assign(input, { min: low, max: high, step });
    show(model.get("value"));
  };
  return { node: make("div", { class: "ql-range-row" }, input, shown), input, show, limits };
}

// Several may be ticked; the value lists them with ; between.
function ticks(model, id) {
  const group = make("div", { id, class: "ql-ticks", role: "group", "aria-labelledby": `${id}-label` });
  const send = sender(model);
  let boxes = [];
  const chosen = () => boxes.filter((box) => box.checked).map((box) => box.value);
  const show = (value) => {
    const wanted = value.split(";").map((item) => item.trim()).filter(Boolean);
    const known = model.get("options").map((option) => option.value);
    const extra = wanted.filter((item) => !known.includes(item));
    const all = [...model.get("options"), ...extra.map((item) => ({ value: item, label: item }))];
    if (boxes.map((box) => box.value).join() !== all.map((item) => item.value).join()) {
      boxes = [];
      const rows = all.map((item, n) => {
        const box = make("input", { id: `${id}-${n}`, type: "checkbox" });
        box.value = item.value;
        box.addEventListener("change", () => send.now(chosen().join(";")));
        boxes.push(box);
        return make("div", { class: "ql-tick" }, box, make("label", { for: box.id }, item.label));
      });
      group.replaceChildren(...rows);
    }
    boxes.forEach((box) => (box.checked = wanted.includes(box.value)));
  };
  return { node: group, input: group, show, options: () => show(model.get("value")) };
}

function copy(model, id, say) {
  const input = make("textarea", { id, readonly: "readonly", rows: "3", spellcheck: "false" });
  const button = make("button", { type: "button", class: "ql-button" }, "Copy");
  const done = make("span", { class: "ql-done", "aria-live": "polite" });
  button.setAttribute("aria-describedby", `${id}-label`);
  button.addEventListener("click", async () => {
    input.select();
    try {
      await navigator.clipboard.writeText(input.value);
      done.textContent = "Copied.";
    } catch {
      say("The browser does not let us copy: the text is selected, press Ctrl and C.");
    }
  });
  const show = (value) => {
    input.value = value;
    done.textContent = "";
  };
  const row = make("div", { class: "ql-copy-row" }, button, done);
  return { node: make("div", {}, input, row), input, show };
}

const CONTROLS = {
  text: (model, id) => typed(model, id, { type: "text" }),
  number: (model, id) => typed(model, id, { type: "text", inputmode: "decimal" }),
  area: (model, id) => typed(model, id, { rows: "2" }, "textarea"),
  select,
  range,
  ticks,
  copy,
  pick,
  several,
};
