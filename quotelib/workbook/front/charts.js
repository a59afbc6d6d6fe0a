// Charts that are drawn out of sight and then put in place, so that nothing flickers.
// The library comes with another widget, which the page may load later than this one.
async function library() {
  while (!globalThis.quotelibDraw) await new Promise((done) => setTimeout(done, 20));
  return globalThis.quotelibDraw;
}

async function charts({ model, el }) {
  el.classList.add("ql-charts");
  let turn = 0;
  const drawn = new Map();
  async function draw() {
    const mine = ++turn;
    const wanted = model.get("charts");
    const embed = await library();
    for (const { key, words, spec } of wanted) {
      const text = JSON.stringify(spec);
      let box = drawn.get(key);
      if (!box) {
        box = { node: document.createElement("figure"), text: "" };
        box.node.dataset.key = key;
        box.node.setAttribute("role", "img");
        drawn.set(key, box);
        el.append(box.node);
      }
      box.node.setAttribute("aria-label", words);
      if (box.text === text) continue;
      const aside = document.createElement("div");
      const made = await embed(aside, spec, { actions: false, renderer: "svg", logLevel: 1 });
      if (mine !== turn) {
        made.finalize();
        return;
      }
      if (model.get("clicks")) {
        made.view.addEventListener("click", (_, item) => {
          if (item?.datum?.point !== undefined) model.send({ clicked: item.datum });
        });
      }
      box.finalize?.();
      Object.assign(box, { text, finalize: () => made.finalize() });
      box.node.replaceChildren(aside);
      box.node.dataset.drawn = String(performance.now());
    }
    const keys = new Set(wanted.map((chart) => chart.key));
    for (const [key, box] of drawn) {
      if (keys.has(key)) continue;
      box.finalize?.();
      box.node.remove();
      drawn.delete(key);
    }
    const order = wanted.map((chart) => drawn.get(chart.key).node);
    if (order.some((node, n) => node !== el.children[n])) el.replaceChildren(...order);
  }
  model.on("change:charts", draw);
  await draw();
  return () => {
    turn = -1;
    model.off("change:charts", draw);
    for (const box of drawn.values()) box.finalize?.();
  };
}
