// shut closes a device or a browser. Now and then Chromium does not answer that at all,
// which says nothing of the pages, so nobody waits longer than ten seconds for it.
export const shut = (what) => Promise.race([what.close(), new Promise((done) => setTimeout(done, 10_000).unref())]);
