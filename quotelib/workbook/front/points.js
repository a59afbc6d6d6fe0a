// A list to take one of: what is taken is sent with the press of the button, so that a choice made
// a moment before, still under way, cannot be missed.
function points({ model, el }) {
  const id = `ql-points-${Math.random().toString(36).slice(2)}`;
  const list = make("select", { id });
  const button = make("button", { type: "button", class: "ql-button" }, "Take this build");
  const label = make("label", { class: "ql-label", for: id });
  el.append(make("div", { class: "ql-taking" }, label, list, button));
  button.addEventListener("click", () => {
    const point = model.get("points")[list.selectedIndex];
    if (point) model.send({ clicked: { point: list.selectedIndex, build: point.build } });
  });
  function draw() {
    label.textContent = model.get("label");
    list.replaceChildren(...model.get("points").map(({ words }) => make("option", {}, words)));
  }
  model.on("change:points", draw);
  draw();
  return () => model.off("change:points", draw);
}
