// A list to choose from, found by typing, in which what is impossible stays to be read, with the
// reason. It is drawn only while it is open.
function pick(model, id, say) {
  const input = make("input", {
    id, type: "text", role: "combobox", autocomplete: "off", spellcheck: "false",
    "aria-autocomplete": "list", "aria-controls": `${id}-list`, "aria-expanded": "false",
  });
  const button = make("button", { type: "button", class: "ql-open", tabindex: "-1" }, "▾");
  const list = make("div", { id: `${id}-list`, class: "ql-list ql-choices", role: "listbox" });
  const why = make("div", { class: "ql-why" });
  const head = make("div", { class: "ql-scope" });
  const panel = make("div", { class: "ql-panel-list", hidden: "hidden" }, head, list, why);
  list.setAttribute("aria-labelledby", `${id}-label`);
  button.setAttribute("aria-label", "Show the choices");
  const send = sender(model);
  let shown = [];
  let active = 0;
  let typing = false;

  const chosen = () => model.get("options").find(({ value }) => value === model.get("value"));
  const named = () => chosen()?.label ?? model.get("value");
  const isOpen = () => !panel.hidden;

  function move(place) {
    active = Math.max(0, Math.min(shown.length - 1, place));
    [...list.children].forEach((node, n) => node.classList.toggle("ql-active", n === active));
    const option = shown[active];
    why.textContent = option ? [option.long, option.detail].filter(Boolean).join(" – ") : "Nothing like that";
    if (!option) return input.removeAttribute("aria-activedescendant");
    input.setAttribute("aria-activedescendant", `${id}-${active}`);
    // Only the list itself moves: the page must stay where it is.
    const node = list.children[active];
    if (node.offsetTop < list.scrollTop) list.scrollTop = node.offsetTop;
    const below = node.offsetTop + node.offsetHeight - list.clientHeight;
    if (below > list.scrollTop) list.scrollTop = below;
  }
  function draw(keep = false) {
    const words = typing ? input.value.trim().toLowerCase().split(/\s+/).filter(Boolean) : [];
    const was = keep ? shown[active]?.value : undefined;
    const text = (o) => `${o.label} ${o.name} ${o.detail}`.toLowerCase();
    shown = model.get("options").filter((o) => words.every((word) => text(o).includes(word)));
    const [prices, places] = [model.get("prices"), { impossible: true }];
    list.replaceChildren(
      ...shown.map((option, n) => {
        const node = make("div", { role: "option", id: `${id}-${n}`, class: option.state });
        node.setAttribute("aria-selected", String(option.value === model.get("value")));
        if (places[option.state]) node.setAttribute("aria-disabled", "true");
        const name = make(places[option.state] ? "s" : "span", { class: "ql-name" });
        name.textContent = option.name || option.label;
        const price = prices[option.value];
        if (price) node.append(make("span", { class: "ql-price" }, price));
        node.append(name);
        if (option.name) node.append(make("span", { class: "ql-sku" }, option.label));
        if (option.short) node.append(make("span", { class: "ql-reason" }, option.short));
        return node;
      }),
    );
    head.textContent = model.get("scope");
    const at = shown.findIndex(({ value }) => value === (was ?? model.get("value")));
    // What is typed in full comes first, then what begins so and can be had.
    const whole = words.join(" ");
    const begins = (o) => [o.label, o.name].some((own) => own.toLowerCase().startsWith(whole));
    const best = [
      (o) => o.label.toLowerCase() === whole || o.value.toLowerCase() === whole,
      (o) => begins(o) && o.state !== "impossible",
      begins,
      (o) => o.state !== "impossible",
    ].map((is) => shown.findIndex(is)).find((place) => place >= 0);
    move(words.length && was === undefined ? best ?? 0 : Math.max(0, at));
  }
  function open() {
    if (isOpen()) return;
    panel.hidden = false;
    input.setAttribute("aria-expanded", "true");
    draw();
    model.send({ opened: true });
  }
  function close() {
    if (isOpen()) model.send({ opened: false });
    panel.hidden = true;
    typing = false;
    list.replaceChildren();
    input.setAttribute("aria-expanded", "false");
    input.removeAttribute("aria-activedescendant");
    input.value = named();
  }
  function choose(place) {
    const option = shown[place];
    if (!option) return;
    if (option.state === "impossible" && option.value !== model.get("value")) {
      move(place);
      say(`${option.label} is not possible: ${option.long}`);
      return;
    }
    say("");
    send.now(option.value);
    close();
    input.select();
  }
  input.addEventListener("focus", () => input.select());
  input.addEventListener("click", open);
  input.addEventListener("input", () => {
    typing = true;
    if (isOpen()) draw();
    else open();
  });
  input.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || (event.altKey && event.key !== "ArrowDown")) return;
    const steps = { ArrowDown: 1, ArrowUp: -1, PageDown: 5, PageUp: -5 };
    if (event.key in steps) isOpen() ? move(active + steps[event.key]) : open();
    else if (event.key === "Escape" && isOpen()) {
      close();
      input.select();
    } else if (event.key === "Enter") isOpen() ? choose(active) : open();
    else return;
    event.preventDefault();
    event.stopPropagation();
  });
  input.addEventListener("blur", () => {
    const text = input.value.trim();
    const open = typing;
    const exact = model.get("options").find(({ label }) => label.toLowerCase() === text.toLowerCase());
    const wanted = text === "" ? "" : exact?.state === "impossible" ? undefined : exact?.value;
    close();
    if (!open) return;
    if (wanted === undefined) say(`${text} is not chosen: choose it from the list and press Enter.`);
    else if (wanted !== model.get("value")) {
      say("");
      send.now(wanted);
    }
  });
  button.addEventListener("mousedown", (event) => event.preventDefault());
  button.addEventListener("click", () => {
    if (isOpen()) return close();
    input.focus();
    open();
  });
  panel.addEventListener("mousedown", (event) => event.preventDefault()); // the field keeps the focus
  list.addEventListener("click", (event) => {
    const place = [...list.children].indexOf(event.target.closest("[role=option]"));
    if (place >= 0) choose(place);
  });
  function show() {
    if (isOpen()) draw(true);
    else input.value = named();
  }
  const node = make("div", { class: "ql-find ql-picker" }, input, button, panel);
  return { node, input, show, options: show, prices: () => isOpen() && draw(true) };
}
