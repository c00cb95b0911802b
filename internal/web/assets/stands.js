// Hands the two sentences and the newest photo to whatever this device sends with. Where
// it can hand over nothing, the sentences are copied.
(() => {
  const send = document.querySelector("[data-stands-send]");
  if (!send) return;
  const text = document.querySelector("[data-stands-text]");
  const says = document.querySelector("[data-stands-says]");
  // The photo is fetched beforehand: a device hands over only what is there at the tap.
  let file = null;
  const fetchPhoto = () => {
    const photo = document.querySelector("[data-stands-photo]");
    if (!photo || !navigator.canShare) return;
    fetch(photo.src).then((r) => r.blob()).then((b) => {
      file = new File([b], "engine.jpg", { type: b.type || "image/jpeg" });
    }).catch(() => {});
  };
  fetchPhoto();
  document.body.addEventListener("htmx:afterSwap", fetchPhoto);
  const copied = () => { says.textContent = "The sentences are copied: paste them where you write to the owner. The photo is kept with a long press on it."; };
  send.addEventListener("click", async () => {
    const what = { text: text.value };
    if (file && navigator.canShare && navigator.canShare({ files: [file] })) what.files = [file];
    try {
      if (navigator.share) {
        await navigator.share(what);
        says.textContent = "Handed over.";
        return;
      }
      await navigator.clipboard.writeText(text.value);
      copied();
    } catch (e) {
      if (e && e.name === "AbortError") return;
      text.focus();
      text.select();
      says.textContent = "This browser hands nothing over: copy the sentences by hand.";
    }
  });
})();
