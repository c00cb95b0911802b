// Compares the main pages with the pictures that are kept of them, at four widths.
//
//	node pictures.mjs http://127.0.0.1:8484 [renew]
//
// The server holds the demo jobs at a fixed time. A picture is compared in squares of 16
// pixels by their mean light: letters drawn a little otherwise pass, a block that moved, is
// gone or has lost its style does not. With "renew" the pictures are written anew: look at
// every one before it is committed. BUTTONUP_SHOTS=folder keeps what was seen now.
import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import path from "node:path";
import { chromium } from "playwright-core";
import { shut } from "./shut.mjs";

const [base, mode] = process.argv.slice(2);
const folder = path.join(import.meta.dirname, "pictures"), shots = process.env.BUTTONUP_SHOTS || "";
const widths = [[360, 740], [390, 844], [820, 1180], [1280, 800]];
const pages = [
  { name: "bench", path: "/" },
  { name: "job", path: "/job/0412" },
  { name: "reading", path: "/job/0415/read/bore?place=front", ready: ".cells" },
  { name: "numbers", path: "/job/0415/numbers" },
  { name: "step", path: "/job/0412/do/carrier_on/front" },
  { name: "wrench", path: "/job/0412/wrench/head_nuts/front" },
];
// A square counts as changed when its light differs by more than this of 255, and a
// picture when more than this share of its squares did.
const lightDiffers = 26, shareAllowed = 0.02;
if (shots) mkdirSync(shots, { recursive: true });

let failures = 0;
const browser = await chromium.launch({ executablePath: process.env.BUTTONUP_CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--font-render-hinting=none", "--force-color-profile=srgb", "--hide-scrollbars"] });
const judge = await (await browser.newContext()).newPage();

// differ is the share of squares whose light differs; 1 where the sizes do.
const differ = (a, b) => judge.evaluate(async ([a, b, light]) => {
  const draw = async (data) => {
    const image = new Image();
    image.src = data;
    await image.decode();
    const c = document.createElement("canvas");
    c.width = image.width;
    c.height = image.height;
    c.getContext("2d").drawImage(image, 0, 0);
    return c;
  };
  const x = await draw(a), y = await draw(b), side = 16;
  if (x.width !== y.width || x.height !== y.height) return 1;
  const p = x.getContext("2d").getImageData(0, 0, x.width, x.height).data, q = y.getContext("2d").getImageData(0, 0, x.width, x.height).data;
  let squares = 0, changed = 0;
  for (let top = 0; top < x.height; top += side) {
    for (let left = 0; left < x.width; left += side) {
      let u = 0, v = 0, n = 0;
      for (let j = top; j < Math.min(top + side, x.height); j++) {
        for (let i = left; i < Math.min(left + side, x.width); i++, n++) {
          const k = 4 * (j * x.width + i);
          u += 0.3 * p[k] + 0.6 * p[k + 1] + 0.1 * p[k + 2];
          v += 0.3 * q[k] + 0.6 * q[k + 1] + 0.1 * q[k + 2];
        }
      }
      squares++;
      if (Math.abs(u - v) / n > light) changed++;
    }
  }
  return changed / squares;
}, [a, b, lightDiffers]);

// small makes a picture small enough to be kept: WebP, whose own noise is far below what a
// square may differ by.
const small = async (picture) => Buffer.from((await judge.evaluate(async (data) => {
  const image = new Image();
  image.src = data;
  await image.decode();
  const c = document.createElement("canvas");
  c.width = image.width;
  c.height = image.height;
  c.getContext("2d").drawImage(image, 0, 0);
  return c.toDataURL("image/webp", 0.6);
}, png(picture))).split(",")[1], "base64");
const png = (b) => "data:image/png;base64," + b.toString("base64"), webp = (b) => "data:image/webp;base64," + b.toString("base64");

async function picture(page, p, width, height) {
  await page.setViewportSize({ width, height });
  await page.goto(base + p.path, { waitUntil: "load" });
  if (p.ready) await page.locator(p.ready).first().waitFor();
  await page.evaluate(() => document.fonts.ready);
  // The cursor blinks, and what is focused depends on who looks.
  await page.evaluate(() => document.activeElement && document.activeElement.blur());
  return page.screenshot({ animations: "disabled", caret: "hide", scale: "css" });
}

const context = await browser.newContext({ locale: "en-GB", timezoneId: "UTC", reducedMotion: "reduce", colorScheme: "light" });
await context.addCookies([{ name: "buttonup_theme", value: "light", url: base }, { name: "buttonup_units", value: "mm", url: base }]);
const page = await context.newPage();
let worst = { share: 0, name: "" };
for (const p of pages) {
  for (const [width, height] of widths) {
    const name = `${p.name}-${width}`, file = path.join(folder, name + ".webp");
    try {
      const now = await picture(page, p, width, height);
      if (shots) writeFileSync(path.join(shots, name + ".png"), now);
      if (mode === "renew") {
        writeFileSync(file, await small(now));
      } else {
        if (!existsSync(file)) throw new Error("there is no picture of it: make golden");
        const share = await differ(webp(readFileSync(file)), png(now));
        if (share > worst.share) worst = { share, name };
        if (share > shareAllowed) throw new Error(`${(100 * share).toFixed(1)} % of it differs from the picture that is kept; look at it, and make golden if it is meant`);
      }
      console.log("ok " + name);
    } catch (e) {
      failures++;
      console.log("FAIL " + `${name}: ${e.message}`.replace(/\s*\n\s*/g, " | "));
    }
  }
}
// A broken layout must be seen: the same page without its style, and with a block moved.
for (const [what, breaks] of [["without its style", () => document.querySelectorAll("link[rel=stylesheet]").forEach((l) => l.remove())], ["with its head pushed down", () => { document.querySelector("main").style.paddingTop = "60px"; }]]) {
  await page.setViewportSize({ width: 390, height: 844 });
  await page.goto(base + "/job/0412", { waitUntil: "load" });
  const before = await page.screenshot({ caret: "hide" });
  await page.evaluate(breaks);
  const share = await differ(png(before), png(await page.screenshot({ caret: "hide" })));
  if (share > shareAllowed) console.log(`ok a page ${what} is noticed`);
  else { failures++; console.log(`FAIL a page ${what} is not noticed: ${(100 * share).toFixed(1)} %`); }
}
console.log(`measured the picture that differs most is ${worst.name || "none"}, by ${(100 * worst.share).toFixed(2)} %`);
await shut(browser);
process.exit(failures ? 1 : 0);
