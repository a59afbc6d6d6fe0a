// One piece of the page, drawn by what the page has once (engine.js), so that it comes quickly.
async function parts() {
  while (!globalThis.quotelibParts) await new Promise((done) => setTimeout(done, 5));
  return globalThis.quotelibParts;
}

export default { render: async (given) => (await parts())[PART](given) };
