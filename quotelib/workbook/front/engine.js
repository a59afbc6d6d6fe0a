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
  },
};
