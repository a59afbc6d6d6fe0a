// What every piece of the page is made with.
function make(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== undefined && value !== "") node.setAttribute(name, value);
  }
  node.append(...children);
  return node;
}
