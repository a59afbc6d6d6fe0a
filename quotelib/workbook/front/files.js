// Files that were written: each opens in a tab of its own, or its place can be copied.
function files({ model, el }) {
  const list = make("ul", { class: "ql-files" });
  const said = make("span", { class: "ql-error", role: "status" });
  el.append(list, said);
  const waiting = new Map();
  function draw() {
    said.textContent = "";
    list.replaceChildren(
      ...model.get("files").map(({ title, path }, n) => {
        const open = make("button", { type: "button", class: "ql-button" }, `Open: ${title}`);
        open.addEventListener("click", () => {
          // Opened at once, or else the browser takes it for a window that nobody asked for.
          waiting.set(n, window.open("", "_blank"));
          model.send({ open: n });
        });
        const copy = make("button", { type: "button", class: "ql-button" }, "Copy its place");
        copy.setAttribute("aria-label", `Copy the place of: ${title}`);
        copy.addEventListener("click", async () => {
          try {
            await navigator.clipboard.writeText(path);
            said.textContent = "Copied.";
          } catch {
            said.textContent = "The browser does not let us copy.";
          }
        });
        return make("li", {}, open, copy, make("code", {}, path));
      }),
    );
    list.hidden = !list.children.length;
  }
  function come({ file, type, gone }, buffers) {
    const tab = waiting.get(file);
    waiting.delete(file);
    if (gone || !tab) {
      tab?.close();
      said.textContent = gone || "The browser does not let us open a tab.";
      return;
    }
    tab.location = URL.createObjectURL(new Blob([buffers[0]], { type }));
  }
  model.on("change:files", draw);
  model.on("msg:custom", come);
  draw();
  return () => {
    model.off("change:files", draw);
    model.off("msg:custom", come);
  };
}
