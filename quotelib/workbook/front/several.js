// Things of the price list with how many of each: type to find, Enter adds.
const MOST_FOUND = 60;

function several(model, id, say) {
  const input = make("input", {
    id, type: "text", role: "combobox", autocomplete: "off", spellcheck: "false",
    "aria-autocomplete": "list", "aria-controls": `${id}-list`, "aria-expanded": "false",
  });
  const list = make("div", { id: `${id}-list`, class: "ql-list", role: "listbox", hidden: "hidden" });
  list.setAttribute("aria-label", "What the price list has");
  const there = make("ul", { class: "ql-there", "aria-label": "What is chosen" });
  const done = make("span", { class: "ql-heard", role: "status" });
  const send = sender(model);
  let found = [];
  let active = 0;

  const read = (cell = model.get("value")) =>
    cell.split(";").map((text) => text.trim()).filter(Boolean).map((text) => {
      const [, sku, n] = text.match(/^(.*?)\s*\*\s*([^*]*)$/) ?? [text, text, "1"];
      return { sku, n };
    });
  const write = (items) => send.now(items.map(({ sku, n }) => (n === "1" ? sku : `${sku}*${n}`)).join(";"));
  // "3 disk" looks for "disk" and adds three.
  const wanted = () => {
    const [, n, text] = input.value.match(/^\s*([1-9]\d{0,3})\s+(.*)$/) ?? [input.value, "1", input.value];
    return { n, text: text.trim().toLowerCase() };
  };

  function add(sku, n) {
    const items = read();
    const same = items.find((item) => item.sku === sku && /^\d+$/.test(item.n));
    if (same) same.n = String(Number(same.n) + Number(n));
    else items.push({ sku, n });
    write(items);
    input.value = "";
    close();
    say("");
    done.textContent = `${n} × ${sku} added.`;
  }
  function close() {
    list.hidden = true;
    input.setAttribute("aria-expanded", "false");
    input.removeAttribute("aria-activedescendant");
  }
  function move(place) {
    active = Math.max(0, Math.min(found.length - 1, place));
    [...list.children].forEach((node, n) => {
      node.classList.toggle("ql-active", n === active);
      node.setAttribute("aria-selected", String(n === active && found.length > 0));
    });
    if (!found.length) return;
    input.setAttribute("aria-activedescendant", `${id}-${active}`);
    const node = list.children[active];
    list.scrollTop = Math.min(node.offsetTop, Math.max(list.scrollTop, node.offsetTop + node.offsetHeight - list.clientHeight));
  }
  function look() {
    const words = wanted().text.split(/\s+/);
    // Where words are found at the start of words, rather than within, stands first.
    const all = model.get("options")
      .map((option) => {
        const text = `${option.value} ${option.detail}`.toLowerCase();
        const there = words.every((word) => text.includes(word));
        const starts = words.every((word) => text.match(/[a-z0-9]+/g).some((own) => own.startsWith(word)));
        return { ...option, there, within: !starts };
      })
      .filter(({ there }) => there)
      .sort((one, other) => one.within - other.within);
    found = all.slice(0, MOST_FOUND);
    const more = all.length ? `and ${all.length - found.length} more: type more of it` : "Nothing like that";
    list.replaceChildren(
      ...found.map(({ value, detail }, n) =>
        make("div", { role: "option", id: `${id}-${n}` },
          make("span", { class: "ql-name" }, value), make("span", { class: "ql-detail" }, detail))),
    );
    if (all.length > found.length || !all.length) {
      list.append(make("div", { role: "option", "aria-disabled": "true" }, more));
    }
    list.hidden = false;
    input.setAttribute("aria-expanded", "true");
    move(0);
  }
  // What is typed in full, or pasted as in a file, needs no list.
  function whole() {
    const { n, text } = wanted();
    const exact = model.get("options").find(({ value }) => value.toLowerCase() === text);
    if (exact) add(exact.value, n);
    else if (/[;*]/.test(text)) {
      write([...read(), ...read(input.value)]);
      input.value = "";
      close();
    } else return false;
    return true;
  }
  input.addEventListener("input", () => {
    done.textContent = "";
    if (input.value.trim()) look();
    else close();
  });
  input.addEventListener("keydown", (event) => {
    const open = !list.hidden;
    const steps = { ArrowDown: 1, ArrowUp: -1, PageDown: 5, PageUp: -5 };
    if (event.key in steps) open ? move(active + steps[event.key]) : look();
    else if (event.key === "Escape" && open) close();
    else if (event.key === "Enter") {
      if (!whole() && open && found.length) add(found[active].value, wanted().n);
    } else return;
    event.preventDefault();
    event.stopPropagation();
  });
  input.addEventListener("blur", () => {
    const text = input.value.trim();
    close();
    if (text && !whole()) say(`${text} is not added: choose it from the list and press Enter.`);
  });
  list.addEventListener("mousedown", (event) => {
    const place = [...list.children].indexOf(event.target.closest("[role=option]"));
    event.preventDefault(); // the field keeps the focus
    if (place >= 0 && place < found.length) add(found[place].value, wanted().n);
  });

  function show() {
    const held = [...there.querySelectorAll("input, button")].indexOf(document.activeElement);
    const details = new Map(model.get("options").map(({ value, detail }) => [value, detail]));
    there.replaceChildren(
      ...read().map(({ sku, n }, place) => {
        const many = make("input", { type: "text", inputmode: "numeric", class: "ql-many" });
        many.setAttribute("aria-label", `How many ${sku}`);
        many.value = n;
        const change = (count) => {
          const items = read();
          items[place].n = count;
          write(items.filter((item) => !["", "0"].includes(item.n)));
        };
        many.addEventListener("change", () => change(many.value.trim()));
        const out = make("button", { type: "button", class: "ql-button" }, "Take out");
        out.setAttribute("aria-label", `Take out ${sku}`);
        out.addEventListener("click", () => change("0"));
        const said = make("span", { class: "ql-said" }, make("strong", {}, sku), ` ${details.get(sku) ?? ""}`);
        return make("li", {}, many, said, out);
      }),
    );
    there.hidden = !there.children.length;
    if (held < 0) return;
    const left = there.querySelectorAll("input, button");
    (left[Math.min(held, left.length - 1)] ?? input).focus();
  }
  const node = make("div", { class: "ql-find" }, input, list);
  return { node: make("div", {}, node, done, there), input, show, options: show };
}
