// What the page has once: how its pieces are drawn, the drawing library, what the browser kept,
// and which blocks still show an earlier answer.
globalThis.quotelibParts = { field, fold, lines, charts, points, jumps, files };

const LATE = ".ql-answer, .ql-soon, .ql-rest, .ql-choices";

// The library is large: it comes once the page can be typed into, bundled without the network.
function draws(text) {
  if (!text || globalThis.quotelibDraw) return;
  const address = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
  import(address).finally(() => URL.revokeObjectURL(address));
}

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
    let page = null;
    let typed = model.get("typed");
    // What is typed makes what stands there an earlier answer at once, whatever the program is at.
    function mark() {
      const behind = model.get("seen") < typed;
      const anew = model.get("anew");
      page?.classList.toggle("ql-behind", behind);
      for (const node of page?.querySelectorAll(LATE) ?? []) {
        const busy = behind || anew.some((name) => node.classList.contains(name));
        node.setAttribute("aria-busy", String(busy));
        node.classList.toggle("ql-anew", busy);
      }
    }
    function told() {
      typed += 1;
      model.set("typed", typed);
      model.save_changes();
      mark();
    }
    // Another enquiry: nothing of the last one is to be seen, from this moment on.
    function afresh(event) {
      if (!event.target.closest?.(".ql-afresh")) return;
      // What was typed a moment ago belongs to the enquiry before.
      for (const node of page.querySelectorAll(".ql-field")) node.dispatchEvent(new Event("ql-flush"));
      page.classList.add("ql-afresh-asked");
      told();
    }
    requestAnimationFrame(() => {
      page = el.closest(".ql-page");
      page?.addEventListener("ql-typed", told);
      page?.addEventListener("click", afresh, true);
    });
    const begun = () => page?.classList.remove("ql-afresh-asked");
    const library = () => draws(model.get("library"));
    const changes = {
      "change:anew": mark, "change:seen": mark, "change:begun": begun, "change:library": library,
    };
    for (const [name, done] of Object.entries(changes)) model.on(name, done);
    library();
    return () => {
      for (const [name, done] of Object.entries(changes)) model.off(name, done);
      page?.removeEventListener("ql-typed", told);
      page?.removeEventListener("click", afresh, true);
    };
  },
};
