// Opens and closes what follows it.
function fold({ model, el }) {
  const button = make("button", { type: "button", class: "ql-fold" });
  const draw = () => {
    button.textContent = model.get("label");
    button.setAttribute("aria-expanded", String(model.get("unfolded")));
  };
  button.addEventListener("click", () => {
    model.set("unfolded", !model.get("unfolded"));
    model.save_changes();
  });
  el.append(button);
  model.on("change", draw);
  draw();
  return () => model.off("change", draw);
}
