// The parts of the page: a list to jump by, and keys to go from one to the next.
function jumps({ model, el }) {
  const page = () => el.closest(".ql-page");
  const there = () => model.get("parts").map(({ id }) => page()?.querySelector(`#${id}`)).filter(Boolean);
  const list = make("ul");
  const nav = make("nav", { class: "ql-jumps", "aria-label": "Parts of this page" }, list);
  nav.append(make("span", { class: "ql-keys" }, "by keys: Alt with Page Down, Page Up"));
  el.append(nav);
  function go(node) {
    node.scrollIntoView({ block: "start" });
    node.focus({ preventScroll: true });
  }
  for (const { id, title } of model.get("parts")) {
    const link = make("a", { href: `#${id}` }, title);
    link.addEventListener("click", (event) => {
      event.preventDefault();
      const node = page()?.querySelector(`#${id}`);
      if (node) go(node);
    });
    list.append(make("li", {}, link));
  }
  function key(event) {
    if (!event.altKey || !["PageDown", "PageUp"].includes(event.key)) return;
    const nodes = there();
    const at = document.activeElement;
    const before = nodes.filter((node) => node === at || node.compareDocumentPosition(at) & 4);
    const place = before.length - 1 + (event.key === "PageDown" ? 1 : before.at(-1) === at ? -1 : 0);
    const node = nodes[Math.max(0, Math.min(nodes.length - 1, place))];
    if (node) go(node);
    event.preventDefault();
    event.stopPropagation();
  }
  let listens = null;
  requestAnimationFrame(() => {
    listens = page();
    listens?.addEventListener("keydown", key, true);
  });
  return () => listens?.removeEventListener("keydown", key, true);
}
