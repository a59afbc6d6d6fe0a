// A list to choose from in which what is impossible stays to be read, with the reason.
function pick(model, id, say) {
  const list = make("div", { id, class: "ql-list", role: "listbox", tabindex: "0" });
  list.setAttribute("aria-labelledby", `${id}-label`);
  const send = sender(model);
  let options = [];
  let active = 0;
  let search = "";
  let searched = 0;
  const nodes = () => [...list.children];
  function move(place, scroll = true) {
    active = Math.max(0, Math.min(options.length - 1, place));
    nodes().forEach((node, n) => node.classList.toggle("ql-active", n === active));
    list.setAttribute("aria-activedescendant", `${id}-${active}`);
    if (!scroll) return;
    // Only the list itself moves: the page must stay where it is.
    const node = nodes()[active];
    if (node.offsetTop < list.scrollTop) list.scrollTop = node.offsetTop;
    const below = node.offsetTop + node.offsetHeight - list.clientHeight;
    if (below > list.scrollTop) list.scrollTop = below;
  }
  function choose(place) {
    const option = options[place];
    move(place);
    if (option.state === "impossible" && option.value !== model.get("value")) {
      say(`${option.label} is not possible: ${option.reason}`);
      return;
    }
    say("");
    send.now(option.value);
    show(option.value);
  }
  list.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    // A space within what is being typed belongs to it; else it chooses.
    const typing = search && event.timeStamp - searched < TYPING_MS;
    const steps = { ArrowDown: 1, ArrowUp: -1, PageDown: 5, PageUp: -5 };
    if (event.key in steps) move(active + steps[event.key]);
    else if (event.key === "Home") move(0);
    else if (event.key === "End") move(options.length - 1);
    else if (event.key === "Enter" || (event.key === " " && !typing)) {
      search = "";
      choose(active);
    } else if (event.key.length === 1) {
      search = typing ? search + event.key : event.key;
      searched = event.timeStamp;
      const found = options.findIndex((o) => o.label.toLowerCase().startsWith(search.toLowerCase()));
      if (found >= 0) move(found);
    } else return;
    event.preventDefault();
    event.stopPropagation();
  });
  list.addEventListener("click", (event) => {
    const place = nodes().indexOf(event.target.closest("[role=option]"));
    if (place >= 0) choose(place);
  });
  function show(value) {
    const place = options.findIndex((option) => option.value === value);
    nodes().forEach((node, n) => node.setAttribute("aria-selected", String(n === place)));
    if (place < 0 || document.activeElement === list) return;
    move(place, false);
    list.scrollTop = place ? nodes()[place].offsetTop : 0;
  }
  function draw() {
    options = model.get("options");
    const top = list.scrollTop;
    const was = active;
    list.replaceChildren(
      ...options.map((option, n) => {
        const node = make("div", { role: "option", id: `${id}-${n}`, class: option.state });
        if (option.state === "impossible") node.setAttribute("aria-disabled", "true");
        const name = make(option.state === "impossible" ? "s" : "span", { class: "ql-name" });
        name.textContent = option.label;
        node.append(name);
        if (option.detail) node.append(make("span", { class: "ql-detail" }, option.detail));
        if (option.reason) node.append(make("span", { class: "ql-reason" }, option.reason));
        return node;
      }),
    );
    show(model.get("value"));
    if (document.activeElement !== list) return;
    move(was, false);
    list.scrollTop = top;
  }
  return { node: list, input: list, show, options: draw };
}
