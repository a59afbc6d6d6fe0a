// The rows of a quote, a line each, with what can be done to it.
let lists = 0;

function lines({ model, el }) {
  const id = `ql-lines-${++lists}`;
  el.classList.add("ql-lines");
  el.setAttribute("data-lm-suppress-shortcuts", "true");
  const list = make("ol", { "aria-labelledby": id });
  el.append(make("h3", { id }, "In this quote"), list);
  function press(what, n, title) {
    const button = make("button", { type: "button", class: "ql-button" }, what);
    button.setAttribute("aria-label", `${what} ${n + 1}: ${title}`);
    button.addEventListener("click", () => model.send({ does: what, row: n }));
    return button;
  }
  function draw() {
    const held = [...list.querySelectorAll("button")].indexOf(document.activeElement);
    list.replaceChildren(
      ...model.get("rows").map(({ title, words, mark, current }, n) => {
        const said = make("div", { class: "ql-said" }, make("strong", {}, title), ` ${words}`);
        if (mark) said.append(make("span", { class: "ql-mark" }, mark));
        const item = make("li", { "aria-current": current ? "true" : "" }, said);
        if (current) item.append(make("span", { class: "ql-below" }, "in the fields below"));
        else item.append(press("Edit", n, title));
        item.append(press("Take out", n, title));
        return item;
      }),
    );
    const buttons = list.querySelectorAll("button");
    if (held >= 0) buttons[Math.min(held, buttons.length - 1)]?.focus();
  }
  model.on("change:rows", draw);
  draw();
  return () => model.off("change:rows", draw);
}
