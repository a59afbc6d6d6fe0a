// Hands the drawing library, bundled without the network, to every chart of the page.
globalThis.quotelibDraw = vegaEmbed;

export default {
  render({ model, el }) {
    el.hidden = true;
    // What an earlier page of this folder had typed and perhaps not sent.
    try {
      model.set("kept", localStorage.getItem(model.get("store")) || "");
      model.save_changes();
    } catch {
      // Nothing kept.
    }
    // Blocks that still show an earlier answer are marked, for the eye and for those who hear it.
    const mark = () => {
      const anew = model.get("anew");
      for (const node of el.closest(".ql-page")?.querySelectorAll(".ql-answer, .ql-rest") ?? []) {
        const busy = anew.some((name) => node.classList.contains(name));
        node.setAttribute("aria-busy", String(busy));
        node.classList.toggle("ql-anew", busy);
      }
    };
    model.on("change:anew", mark);
    return () => model.off("change:anew", mark);
  },
};
