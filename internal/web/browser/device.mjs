// What the checks in a browser share: a device of a builder, what it complains of, how a
// check is told, and the bars that every page keeps.
//
// Each check prints a line: "ok", "FAIL" or "measured". BUTTONUP_SHOTS=folder keeps a
// picture of every page at five widths; BUTTONUP_ONLY names the parts to run;
// BUTTONUP_CHROMIUM another browser than /usr/bin/chromium.
import { createRequire } from "node:module";
import { readFileSync, mkdirSync } from "node:fs";
import path from "node:path";
import { chromium } from "playwright-core";
import { shut } from "./shut.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
export const shots = process.env.BUTTONUP_SHOTS || "";
const largestLoad = 120_000; // bytes over the wire, with nothing in the browser's memory
const smallestTarget = 48; // CSS pixels, both ways
const widths = [[320, 640], [360, 740], [390, 844], [820, 1180], [1280, 800]];

let failures = 0, browser;
export const ok = (what) => console.log("ok " + what);
export const measured = (what) => console.log("measured " + what);
export function expect(is, what) { if (!is) throw new Error(what); }
export async function check(name, run) {
  try { await run(); ok(name); } catch (e) { failures++; console.log("FAIL " + `${name}: ${e.message}`.replace(/\s*\n\s*/g, " | ")); }
}

// device is a browser of its own, with nothing remembered. Expected are pieces of
// complaints that a check provokes.
export async function device(base, { theme = "light", units = "mm", width = 390, height = 844, expected = [], ...more } = {}) {
  const context = await browser.newContext({ viewport: { width, height }, ...more });
  await context.addCookies([{ name: "buttonup_theme", value: theme, url: base }, { name: "buttonup_units", value: units, url: base }]);
  const page = await context.newPage();
  page.setDefaultTimeout(10_000);
  const complaints = [];
  page.on("console", (m) => {
    if (["error", "warning"].includes(m.type()) && !expected.some((s) => m.text().includes(s))) complaints.push(`console ${m.type()}: ${m.text()}`);
  });
  page.on("pageerror", (e) => complaints.push("fault: " + e.message));
  return { context, page, complaints, base, go: (p) => page.goto(base + p, { waitUntil: "load" }), close: () => shut(context) };
}

export const seq = (page) => page.evaluate(() => Math.max(0, ...[...document.querySelectorAll("[data-seq]")].map((e) => Number(e.dataset.seq) || 0)));
export const text = (page, selector = "main") => page.locator(selector).first().innerText();

// changes waits until the record has more than the page showed before.
export async function changes(page, run) {
  const before = await seq(page);
  await run();
  await page.waitForFunction((n) => Math.max(0, ...[...document.querySelectorAll("[data-seq]")].map((e) => Number(e.dataset.seq))) > n, before);
  await page.waitForLoadState("load");
}
// again waits until the page, once all it kept is sent, has fetched itself: a second
// navigation meanwhile would cut it off.
export async function again(page, run) {
  await page.evaluate(() => { window.before = true; });
  await run();
  await page.waitForFunction(() => !window.before && document.readyState === "complete", undefined, { timeout: 30_000 });
}
export async function down(page, button, ms) {
  const b = page.locator(button).first();
  await b.scrollIntoViewIfNeeded();
  const box = await b.boundingBox();
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  await page.waitForTimeout(ms);
  await page.mouse.up();
}
export const hold = (page, button = "[data-hold]") => changes(page, () => down(page, button, 1100));

// looks checks how pages are made: accessible, whole at every width, reachable with a
// thumb, small on a first visit, and nothing the browser complains of.
export async function looks(base, pages, prefix) {
  let largest = { bytes: 0 };
  for (const p of pages) {
    for (const theme of ["light", "dark"]) {
      await check(`${p.name}, ${theme}`, async () => {
        const d = await device(base, { theme, units: p.units || "mm" });
        try {
          let bytes = 0;
          const client = await d.context.newCDPSession(d.page);
          await client.send("Network.enable");
          client.on("Network.loadingFinished", (e) => { bytes += e.encodedDataLength; });
          const answer = await d.go(p.path);
          expect(answer.status() === 200, `status ${answer.status()}`);
          if (bytes > largest.bytes) largest = { bytes, name: p.name };
          expect(bytes <= largestLoad, `${bytes} bytes on the first visit`);
          await d.page.evaluate(axe);
          // The dark theme differs in its inks alone.
          const rules = theme === "dark" ? { runOnly: ["color-contrast"] } : {};
          const found = await d.page.evaluate((rules) => window.axe.run(document, { resultTypes: ["violations"], ...rules }), rules);
          expect(found.violations.length === 0, found.violations.map((v) => `${v.id} at ${v.nodes[0].target}`).join("; "));
          for (const [width, height] of theme === "light" || shots ? widths : []) {
            await d.page.setViewportSize({ width, height });
            const over = await d.page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
            expect(over <= 0, `${over} px too wide at ${width}`);
            const small = await d.page.evaluate((least) => [...document.querySelectorAll("a,button,summary,select,input:not([type=hidden]),textarea,label.tick")].filter((e) => {
              const b = e.getBoundingClientRect(), s = getComputedStyle(e);
              if (!b.width || !b.height || s.visibility === "hidden" || e.matches(".skip,.vh") || e.closest(".skip")) return false;
              if (e.matches("input[type=checkbox],input[type=radio]")) return false; // its label is the target
              if (e.closest(".tag,.patternpad")) return false;
              return b.height < least - 0.5 || b.width < least - 0.5;
            }).map((e) => `${e.tagName.toLowerCase()} “${(e.innerText || e.name || "").slice(0, 24)}” ${Math.round(e.getBoundingClientRect().width)}×${Math.round(e.getBoundingClientRect().height)}`), smallestTarget);
            if (width > 320) expect(small.length === 0, `at ${width}: ${small.slice(0, 4).join(", ")}`);
            if (shots) await d.page.screenshot({ path: path.join(shots, `${prefix}-${p.name}-${width}-${theme}.png`), fullPage: width < 1000 });
          }
          expect(d.complaints.length === 0, d.complaints.join("; "));
        } finally { await d.close(); }
      });
    }
  }
  measured(`the largest first load is ${largest.bytes} bytes, of ${largest.name}`);
}

// run does the parts of all lanes, the lanes beside one another: what writes to the same
// job stays in one lane. It ends the program.
export async function run(lanes) {
  if (shots) mkdirSync(shots, { recursive: true });
  browser = await chromium.launch({ executablePath: process.env.BUTTONUP_CHROMIUM || "/usr/bin/chromium" });
  try {
    const only = (process.env.BUTTONUP_ONLY || "").split(",").filter(Boolean);
    await Promise.all(lanes.map(async (lane) => {
      for (const part of lane) {
        if (!only.length || only.includes(part.name)) await part();
      }
    }));
  } finally { await shut(browser); }
  process.exit(failures ? 1 : 0);
}
