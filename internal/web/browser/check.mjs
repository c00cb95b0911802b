// Checks the pages in Debian's Chromium, as a builder would use them.
//
//	node check.mjs http://127.0.0.1:8484
//
// The server must hold the demo jobs, and it is written to. Each check prints a line:
// "ok", "FAIL" or "measured". The exit code is 1 when one failed.
//
// BUTTONUP_BENCH=1 asserts the time from a reading to its verdict, and to another device,
// and checks nothing else; without it those times are only printed, because a test that
// runs beside others cannot promise one. BUTTONUP_SHOTS=folder keeps a picture of every page.
// BUTTONUP_CHROMIUM names another browser than /usr/bin/chromium.
import { createRequire } from "node:module";
import { readFileSync, mkdirSync } from "node:fs";
import path from "node:path";
import { chromium } from "playwright-core";
import { shut } from "./shut.mjs";

const base = (process.argv[2] || "").replace(/\/$/, "");
if (!/^http:\/\/(127\.0\.0\.1|localhost)(:\d+)?$/.test(base)) {
  console.error("check.mjs: give the address of a server with the demo jobs, like http://127.0.0.1:8484");
  process.exit(2);
}
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const shots = process.env.BUTTONUP_SHOTS || "";
const benchOnly = process.env.BUTTONUP_BENCH === "1";

// The bars of the pages.
const largestLoad = 120_000; // bytes over the wire, with nothing in the browser's memory
const smallestTarget = 48; // CSS pixels, both ways
const slowestLive = 500; // ms from Enter on one device to the change on another
const slowestVerdict = 150; // ms from Enter to the verdict, on a processor slowed 4×
const slowed = 4;
const readingsTimed = 30;

let failures = 0;
const ok = (what) => console.log("ok " + what);
const measured = (what) => console.log("measured " + what);
function fail(what) {
  failures++;
  console.log("FAIL " + String(what).replace(/\s*\n\s*/g, " | "));
}
function expect(is, what) {
  if (!is) throw new Error(what);
}
async function check(name, run) {
  try {
    await run();
    ok(name);
  } catch (e) {
    fail(`${name}: ${e.message}`);
  }
}

// complaints gathers all that a browser holds against a page: console errors and
// warnings, uncaught faults, breaches of the policy, failed and foreign requests.
// Expected answers are statuses that a check provokes.
function listen(page, expected = []) {
  const list = [];
  page.on("console", (m) => {
    if (m.text().startsWith("policy:")) list.push(m.text());
    else if (["error", "warning"].includes(m.type()) && !expected.some((s) => m.text().includes(`status of ${s}`))
      && !expected.some((s) => m.text().includes(`Response Status Error Code ${s}`))) list.push(`console ${m.type()}: ${m.text()}`);
  });
  page.on("pageerror", (e) => list.push("fault: " + e.message));
  page.on("request", (r) => {
    if (!r.url().startsWith(base + "/") && !r.url().startsWith("data:")) list.push("request to another place: " + r.url());
  });
  page.on("requestfailed", (r) => {
    // Leaving a page ends what it was fetching.
    if (r.failure()?.errorText !== "net::ERR_ABORTED") list.push(`request failed: ${r.url()} ${r.failure()?.errorText}`);
  });
  return list;
}

// device is a browser of its own, with nothing remembered.
async function device({ theme = "light", units = "mm", width = 1280, height = 844, expected = [], ...more } = {}) {
  const context = await browser.newContext({ viewport: { width, height }, ...more });
  const cookies = [];
  if (theme) cookies.push({ name: "buttonup_theme", value: theme, url: base });
  if (units) cookies.push({ name: "buttonup_units", value: units, url: base });
  await context.addCookies(cookies);
  const page = await context.newPage();
  page.setDefaultTimeout(15_000);
  const complaints = listen(page, expected);
  await page.addInitScript(() => {
    document.addEventListener("securitypolicyviolation", (e) => console.error(`policy: ${e.violatedDirective} ${e.blockedURI}`));
  });
  return { context, page, complaints, go: (p) => page.goto(base + p, { waitUntil: "load" }), close: () => shut(context) };
}

const read = (job, of, place, at) =>
  `/job/${job}/read/${of}?` + new URLSearchParams({ ...(place && { place }), ...(at !== undefined && { at: String(at) }) });

// pages are all kinds of pages and the states in which they look different.
const pages = [
  { name: "bench", path: "/" },
  { name: "job", path: "/job/0417" },
  { name: "job-waiting", path: "/job/0415" },
  { name: "job-clean", path: "/job/0412" },
  { name: "readings", path: "/job/0415/readings" },
  { name: "read-bore", path: read("0417", "bore", "rear", 1) },
  { name: "read-empty", path: read("0415", "stud_lean", "front 1") },
  { name: "kept", path: "/job/0417/kept/bore?place=rear" },
  { name: "numbers", path: "/job/0417/numbers" },
  { name: "numbers-all", path: "/job/0417/numbers?show=all" },
  { name: "parts", path: "/job/0415/parts?q=3105" },
  { name: "part-place", path: "/job/0417/parts/carrier_gasket_rear" },
  { name: "order", path: "/job/0415/order" },
  { name: "order-impossible", path: "/job/0415/order?refuse=AV-6131&refuse=HV-6131" },
  { name: "error", path: "/job/none", status: 404 },
  { name: "question", path: read("0417", "bore", "front", 0), expected: [422], async then(page) { await type(page, "3.6225"); await page.waitForSelector("#question"); } },
  { name: "mistake", path: read("0417", "bore", "front", 0), expected: [422], async then(page) { await type(page, "ninety"); await page.waitForSelector("#mistake"); } },
];

async function type(page, value) {
  const field = page.locator("input.reading");
  await field.fill(value);
  await field.press("Enter");
}

// state is what an entry page shows.
const state = (page) => page.evaluate(() => ({
  seq: Math.max(0, ...[...document.querySelectorAll("[data-seq]")].map((e) => Number(e.dataset.seq) || 0)),
  title: document.querySelector("h1").textContent.trim(),
  word: document.querySelector("#word h3")?.textContent.trim() || "",
  lit: [...document.querySelectorAll(".cell")].findIndex((c) => c.getAttribute("aria-current") === "true"),
  cells: [...document.querySelectorAll(".cell")].map((c) => c.querySelector("span:not(.vh)").textContent.trim()),
  kept: [...document.querySelectorAll("#kept .kept")].map((k) => ({ value: (k.querySelector("s") || k.querySelector("b")).textContent.trim(), struck: k.classList.contains("struck") })),
  focused: document.activeElement?.classList.contains("reading") || false,
  field: document.querySelector("input.reading").value,
  unit: document.querySelector(".field .u")?.textContent.trim() || "",
}));
// judged waits for the verdict and the next cell, newer for the whole page after it.
const judged = (page, seq) => page.waitForFunction((n) => Number(document.querySelector("#map")?.dataset.seq) > n, seq);
const newer = (page, seq) => page.waitForFunction((n) => Math.min(...[...document.querySelectorAll("[data-seq]")].map((e) => Number(e.dataset.seq))) > n, seq);
// same waits long enough for a change to arrive if one were under way.
async function same(page, seq, what) {
  await page.waitForTimeout(400);
  await page.reload();
  expect((await state(page)).seq === seq, `${what}: something was kept`);
}

// looks checks how a page is made: accessible, whole, reachable with a thumb, small.
async function looks() {
  let largest = { bytes: 0 };
  for (const p of pages) {
    for (const theme of ["light", "dark"]) {
      for (const width of [390, 1280]) {
        const where = `${p.name} ${theme} ${width}`;
        const d = await device({ theme, width, expected: [...(p.expected || []), ...(p.status ? [p.status] : [])], reducedMotion: "reduce" });
        await check(`${where} px`, async () => {
          const wire = await d.context.newCDPSession(d.page);
          let bytes = 0;
          await wire.send("Network.enable");
          wire.on("Network.loadingFinished", (e) => { bytes += e.encodedDataLength; });
          const answer = await d.go(p.path);
          expect(answer.status() === (p.status || 200), `answered ${answer.status()}`);
          await d.page.evaluate(() => document.fonts.ready);
          await d.page.waitForTimeout(50);
          expect(bytes > 5_000, `only ${bytes} bytes were counted: the count is broken`);
          expect(bytes <= largestLoad, `the first load takes ${bytes} bytes, more than ${largestLoad}`);
          if (bytes > largest.bytes) largest = { bytes, where };
          await p.then?.(d.page);

          const bad = [];
          const spill = await d.page.evaluate(() => {
            const root = document.documentElement;
            if (root.scrollWidth <= root.clientWidth) return "";
            const far = [...document.body.querySelectorAll("*")].filter((e) => e.getBoundingClientRect().right > root.clientWidth + 0.5);
            return `${root.scrollWidth} px in ${root.clientWidth}: ` + far.slice(-3).map((e) => e.tagName + "." + (e.getAttribute("class") || e.id)).join(", ");
          });
          if (spill) bad.push("scrolls sideways: " + spill);

          await d.page.evaluate(() => document.querySelectorAll("details").forEach((x) => { x.open = true; }));
          bad.push(...await d.page.evaluate((least) => {
            const out = [];
            for (const e of document.querySelectorAll("a[href], button, summary, select, textarea, input:not([type=hidden])")) {
              if (e.matches(".vh, .skip") || !e.checkVisibility({ visibilityProperty: true })) continue;
              // A label is pressed like the field that it holds.
              const box = (e.matches("input, select, textarea") && e.closest("label") || e).getBoundingClientRect();
              if (box.width < least - 0.05 || box.height < least - 0.05) {
                out.push(`target ${e.tagName} “${(e.getAttribute("aria-label") || e.textContent || e.name).trim().slice(0, 40)}” is ${box.width.toFixed(1)} × ${box.height.toFixed(1)} px`);
              }
            }
            return out;
          }, smallestTarget));

          await d.page.evaluate(axe);
          const found = await d.page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
          expect(found.passes.length > 10, `axe ran only ${found.passes.length} rules`);
          for (const v of found.violations) {
            bad.push(`axe ${v.id} (${v.impact}): ${v.help}: ` + v.nodes.slice(0, 3).map((n) => n.target.join(" ") + " " + (n.any[0]?.message || "")).join("; "));
          }
          bad.push(...d.complaints);
          expect(!bad.length, bad.join("; "));
        });
        if (shots) {
          await d.go(p.path);
          await p.then?.(d.page);
          await d.page.screenshot({ path: path.join(shots, `${p.name}-${theme}-${width}.png`), fullPage: true });
        }
        await d.close();
      }
    }
  }
  measured(`largest first load: ${largest.bytes} bytes, ${largest.where} px`);
}

// quiet fails a check when the browser complained.
function quiet(...devices) {
  for (const d of devices) expect(!d.complaints.length, d.complaints.join("; "));
}

async function entry() {
  await check("entry: Enter keeps, judges and goes to the next cell", async () => {
    const d = await device();
    await d.go(read("0415", "stud_lean", "front 1"));
    let s = await state(d.page);
    expect(s.focused, "the field is not focused when the page opens");
    await d.go(read("0417", "bore", "front"));
    await d.page.locator(".more > summary", { hasText: "Begin a new set" }).click();
    await d.page.selectOption("select[name=phase]", "as-machined");
    const values = ["92.003", "92.005", "92.004", "92.006", "92.004", "92.005"];
    s = await state(d.page);
    const cells = s.cells.length, places = [];
    expect(cells >= 4, `the bore has ${cells} cells`);
    for (let i = 0; i < cells; i++) {
      const value = values[i % values.length], before = await state(d.page);
      places.push(before.lit);
      await type(d.page, value);
      await newer(d.page, before.seq);
      await d.page.waitForFunction(() => document.activeElement?.classList.contains("reading"));
      s = await state(d.page);
      expect(s.kept[0].value === value + " mm", `kept ${s.kept[0].value}, typed ${value}`);
      expect(Math.abs(Number(s.cells[before.lit]) - Number(value)) < 0.02, `the cell shows ${s.cells[before.lit]} for ${value}`);
      expect(s.word !== "" && s.word !== "Not measured", `no verdict, but “${s.word}”`);
      expect(s.field === "", `the field still holds ${s.field}`);
      if (i + 1 < cells) {
        expect(s.lit !== before.lit && s.cells[s.lit] === "–", `cell ${s.lit} is lit after ${before.lit}`);
      }
      expect((await d.page.locator("#heard").textContent()).includes(s.cells[before.lit]), "what was kept is not said aloud");
    }
    expect(new Set(places).size === cells, `the cells were lit in the order ${places}`);
    // Loading the page again shows the same.
    await d.page.reload();
    const again = await state(d.page);
    expect(again.seq === s.seq && again.cells.join() === s.cells.join(), "loading again shows other cells");
    quiet(d);
    await d.close();
  });

  await check("a slip is asked about, kept on a second yes, never changed; then struck out", async () => {
    const d = await device({ expected: [422] });
    await d.go(read("0417", "bore", "front", 1));
    const before = await state(d.page);
    await type(d.page, "3.6225");
    await d.page.waitForSelector("#question");
    const question = await d.page.locator("#question").innerText();
    expect(/3\.6225/.test(question) && /inch/.test(question), `it asks: ${question}`);
    expect((await state(d.page)).seq === before.seq, "it was kept before it was answered");
    await same(d.page, before.seq, "the question left alone");
    // Enter once more with the same value is not a second yes: the button is.
    await type(d.page, "3.6225");
    await d.page.waitForSelector("#question");
    await d.page.locator("#question button[name=sure]").click();
    await newer(d.page, before.seq);
    let s = await state(d.page);
    expect(s.seq === before.seq + 1, `${s.seq - before.seq} entries were made of one reading`);
    expect(s.kept[0].value === "3.6225 mm", `kept ${s.kept[0].value}`);
    // What was meant may be taken instead, and is kept with the unit it was meant in.
    await d.go(read("0417", "bore", "front", 1));
    await type(d.page, "3.6225");
    await d.page.waitForSelector("#question");
    const meant = await d.page.locator("#question button[name=accept]").getAttribute("value");
    await d.page.locator("#question button[name=accept]").click();
    await newer(d.page, s.seq);
    s = await state(d.page);
    expect(meant === "3.6225 in" && s.kept[0].value === meant, `kept ${s.kept[0].value}, meant ${meant}`);

    // Both are struck; they stay readable, and a strike can be struck in turn.
    for (const value of ["3.6225 in", "3.6225 mm"]) {
      const item = d.page.locator("#kept .kept:not(.struck)", { hasText: value }).first();
      await item.locator("summary").click();
      await item.locator("input[name=why]").fill("typed to try it");
      await item.locator("button").click();
      await d.page.waitForFunction((v) => [...document.querySelectorAll("#kept .kept.struck s")].some((e) => e.textContent.trim() === v), value);
    }
    await d.go("/job/0417/kept/bore?place=front");
    const struck = d.page.locator(".kept.struck");
    expect(await struck.count() >= 2, "struck readings are not shown");
    expect((await struck.first().innerText()).includes("typed to try it"), "the reason is not shown");
    const count = await struck.count();
    await struck.first().locator("summary").click();
    await struck.first().locator("input[name=why]").fill("struck the wrong one");
    await struck.first().locator("button").click();
    await d.page.waitForFunction((n) => document.querySelectorAll(".kept.struck").length === n - 1, count);
    // Leave the job as it was found.
    const back = d.page.locator(".kept:not(.struck)", { hasText: "3.6225" }).first();
    await back.locator("summary").click();
    await back.locator("input[name=why]").fill("typed to try it");
    await back.locator("button").click();
    await d.page.waitForFunction((n) => document.querySelectorAll(".kept.struck").length === n, count);
    quiet(d);
    await d.close();
  });

  await check("the last digits are completed, and a gauge with a cable types them", async () => {
    for (const [units, digits, full] of [["mm", "47", "92.047 mm"], ["in", "238", "3.6238 in"]]) {
      const d = await device({ units });
      await d.go(read("0417", "bore", "front", 0));
      await d.page.locator("input[name=digits]").check();
      await d.page.locator("input.reading").pressSequentially(digits);
      const says = await d.page.locator("#enter-says").innerText();
      expect(says.includes(full.split(" ")[0]), `the page says “${says}” for ${digits}`);
      let before = await state(d.page);
      await d.page.locator("input.reading").press("Enter");
      await newer(d.page, before.seq);
      expect((await state(d.page)).kept[0].value === full, `kept ${(await state(d.page)).kept[0].value}`);
      // As from a cable: the cursor elsewhere, no pause, Tab at the end.
      await d.go(read("0417", "bore", "front", 0));
      expect(await d.page.locator("input[name=digits]").isChecked(), "the device forgot how it types");
      before = await state(d.page);
      await d.page.evaluate(() => document.activeElement.blur());
      for (const key of [...full.split(" ")[0], "Tab"]) await d.page.keyboard.press(key === "." ? "." : key, { delay: 0 });
      await newer(d.page, before.seq);
      expect((await state(d.page)).kept[0].value === full, `from the cable: kept ${(await state(d.page)).kept[0].value}`);
      quiet(d);
      await d.close();
    }
  });

  await check("what is no reading is not kept and can be put right", async () => {
    const d = await device({ expected: [422] });
    await d.go(read("0417", "bore", "front", 1));
    const before = await state(d.page);
    for (const value of ["ninety", "", "12 N"]) {
      await type(d.page, value);
      await d.page.waitForSelector("#mistake");
      const s = await state(d.page);
      expect(s.seq === before.seq && s.field === value && s.focused, `“${value}”: ${JSON.stringify(s)}`);
      await d.go(read("0417", "bore", "front", 1));
    }
    await same(d.page, before.seq, "nothing sensible typed");
    quiet(d);
    await d.close();
  });
}

async function live() {
  await check("a second device shows a change", async () => {
    const here = await device(), there = await device({ width: 390 });
    const took = {};
    for (const [name, path] of [["read", read("0417", "bore", "front", 0)], ["numbers", "/job/0417/numbers"], ["job", "/job/0417"], ["readings", "/job/0417/readings"], ["kept", "/job/0417/kept/bore?place=front"], ["bench", "/"]]) {
      await here.go(read("0417", "bore", "front", 0));
      const stream = there.page.waitForResponse((r) => r.url().includes("/events"));
      await there.go(path);
      await stream;
      const before = await state(here.page);
      await there.page.evaluate(() => {
        const seq = () => Math.max(0, ...[...document.querySelectorAll("[data-seq]")].map((e) => Number(e.dataset.seq) || 0));
        const first = seq();
        window.seen = new Promise((done) => {
          const watch = new MutationObserver(() => {
            if (seq() > first) { watch.disconnect(); requestAnimationFrame(() => done(Date.now())); }
          });
          watch.observe(document.body, { subtree: true, childList: true, attributes: true });
        });
      });
      const value = (92.001 + 0.001 * Object.keys(took).length).toFixed(3);
      await here.page.locator("input.reading").fill(value);
      const pressed = Date.now();
      await here.page.locator("input.reading").press("Enter");
      took[name] = await there.page.evaluate(() => window.seen) - pressed;
      await newer(here.page, before.seq);
      if (name === "read" || name === "kept") {
        expect((await there.page.locator(".kept").first().innerText()).includes(value), `${name} does not show ${value}`);
      }
    }
    const all = Object.values(took).sort((a, b) => a - b);
    measured("change on a second device, ms from Enter: " + Object.entries(took).map(([k, v]) => `${k} ${v}`).join(", "));
    // The median: one hiccup of a busy machine is not a broken stream.
    if (benchOnly) expect(all[all.length >> 1] <= slowestLive, `took ${all.join(", ")} ms`);
    quiet(here, there);
    await here.close();
    await there.close();
  });

  await check("what is half typed stays when another device adds a reading", async () => {
    const here = await device(), there = await device();
    const stream = there.page.waitForResponse((r) => r.url().includes("/events"));
    await there.go(read("0417", "bore", "front", 2));
    await stream;
    await there.page.locator("input.reading").fill("92.0");
    await here.go(read("0417", "bore", "front", 0));
    const before = await state(here.page);
    await type(here.page, "92.002");
    await newer(there.page, before.seq);
    const s = await state(there.page);
    expect(s.field === "92.0" && s.focused && s.lit === 2, JSON.stringify(s));
    quiet(here, there);
    await here.close();
    await there.close();
  });
}

async function look() {
  await check("inch and metric", async () => {
    const d = await device({ units: "" });
    await d.go(read("0417", "bore", "front", 0));
    let s = await state(d.page);
    expect(s.unit === "mm", `the job opens in ${s.unit}`);
    const metric = Number(s.cells[0]);
    await d.page.locator("button[name=units]").click();
    await d.page.waitForFunction(() => document.querySelector(".field .u").textContent.trim() === "in");
    s = await state(d.page);
    // 1 in = 25.4 mm exactly: international yard and pound agreement of 1959, from memory.
    expect(Math.abs(Number(s.cells[0]) * 25.4 - metric) < 25.4 * 0.00006 + 0.0006, `${metric} mm is shown as ${s.cells[0]} in`);
    expect(!/\d mm\b/.test(await d.page.locator("#judge .first-wide").innerText()), "the verdict is still in millimetres");
    await type(d.page, "3.6222");
    await newer(d.page, s.seq);
    s = await state(d.page);
    expect(s.kept[0].value === "3.6222 in", `kept ${s.kept[0].value}`);
    await d.page.reload();
    expect((await state(d.page)).unit === "in", "the choice was forgotten");
    await d.page.locator("button[name=units]").click();
    await d.page.waitForFunction(() => document.querySelector(".field .u").textContent.trim() === "mm");
    s = await state(d.page);
    expect(Math.abs(Number(s.cells[0]) - 3.6222 * 25.4) < 0.02, `3.6222 in is shown as ${s.cells[0]} mm`);
    quiet(d);
    await d.close();
  });

  await check("dark, light, and as the device", async () => {
    const ground = (page) => page.evaluate(() => getComputedStyle(document.body).backgroundColor);
    const lightGround = "rgb(247, 242, 231)", darkGround = "rgb(20, 22, 26)"; // --paper in tokens.css
    for (const [scheme, wanted] of [["light", lightGround], ["dark", darkGround]]) {
      const d = await device({ theme: "", colorScheme: scheme });
      await d.go("/");
      expect(await ground(d.page) === wanted, `as the device, ${scheme}: ${await ground(d.page)}`);
      for (const [chosen, want] of [["light", lightGround], ["dark", darkGround]]) {
        await Promise.all([d.page.waitForEvent("load"), d.page.locator("button[name=theme]").click()]);
        expect(await ground(d.page) === want, `${chosen} on a ${scheme} device: ${await ground(d.page)}`);
        await d.go("/job/0417/numbers");
        expect(await ground(d.page) === want, `${chosen} was forgotten on the next page`);
      }
      await Promise.all([d.page.waitForEvent("load"), d.page.locator("button[name=theme]").click()]);
      expect(await ground(d.page) === wanted, `back to the device, ${scheme}: ${await ground(d.page)}`);
      quiet(d);
      await d.close();
    }
  });
}

// pace times readings as they are typed one after another, cell by cell through new
// sets: from the Enter key to the first frame with the new verdict, as the page itself
// sees both.
async function pace() {
  await check(`reading to verdict, processor slowed ${slowed}×`, async () => {
    const d = await device({ width: 390 });
    await d.page.addInitScript(() => {
      window.timed = [];
      let pressed = 0, old = null;
      document.addEventListener("keydown", (e) => {
        if (e.key === "Enter") { pressed = e.timeStamp; old = document.getElementById("word"); }
      }, true);
      new MutationObserver(() => {
        const word = document.getElementById("word");
        if (!pressed || !word || word === old) return;
        const from = pressed;
        pressed = 0;
        // A message sent in a frame arrives when that frame has been drawn.
        requestAnimationFrame(() => {
          const { port1, port2 } = new MessageChannel();
          port1.onmessage = () => window.timed.push(performance.now() - from);
          port2.postMessage(0);
        });
      }).observe(document, { subtree: true, childList: true });
    });
    const cdp = await d.context.newCDPSession(d.page);
    await cdp.send("Emulation.setCPUThrottlingRate", { rate: slowed });
    const times = [];
    for (const [job, place, phase] of [["0417", "rear", "as-machined"], ["0417", "rear", "as-built"], ["0417", "front", "as-built"], ["0412", "front", "as-built"]]) {
      await d.go(read(job, "bore", place, 0));
      await d.page.evaluate((p) => { document.querySelector("select[name=phase]").value = p; }, phase);
      const cells = (await state(d.page)).cells.length;
      for (let i = 0; i < cells && times.length < readingsTimed; i++) {
        const before = await state(d.page);
        await type(d.page, (92.06 + 0.001 * ((times.length * 7) % 11)).toFixed(3));
        await judged(d.page, before.seq);
        await d.page.waitForFunction((n) => window.timed.length === n, i + 1);
        times.push(await d.page.evaluate(() => window.timed.at(-1)));
        await d.page.waitForTimeout(150); // what comes after a verdict is not counted to the next one
      }
    }
    expect(times.length === readingsTimed, `${times.length} of ${readingsTimed} readings were timed`);
    if (benchOnly) measured("in order, ms: " + times.map((t) => t.toFixed(0)).join(" "));
    times.sort((a, b) => a - b);
    const at = (p) => times[Math.ceil(p * times.length) - 1];
    measured(`reading to verdict, ${readingsTimed} readings at ${slowed}× slowdown: p50 ${at(0.5).toFixed(0)} ms, p95 ${at(0.95).toFixed(0)} ms, slowest ${times.at(-1).toFixed(0)} ms`);
    if (benchOnly) expect(at(0.95) <= slowestVerdict, `p95 is ${at(0.95).toFixed(0)} ms, more than ${slowestVerdict} ms`);
    quiet(d);
    await d.close();
  });
}

// partsJob writes a part down as a builder does, and reads a code through a camera that
// the browser is made to have.
async function partsJob() {
  await check("a part is measured on arrival, rejected, and the page says why", async () => {
    const d = await device({ width: 390 });
    await d.go("/job/0415/parts/rocker_box_gasket?place=front");
    await d.page.locator("summary", { hasText: "Received" }).click();
    const form = d.page.locator("form", { has: d.page.getByRole("button", { name: "Reject it" }) });
    await form.locator("input[name=part]").fill("qm 5330-1");
    await form.locator("input[name='sizes.box']").fill("0.80");
    await form.locator("input[name=why]").fill("the old thick one");
    await form.getByRole("button", { name: "Reject it" }).click();
    await d.page.waitForFunction(() => document.readyState === "complete" && document.querySelector("#live")?.textContent.includes("the old thick one"));
    const text = await d.page.locator("#live").textContent();
    expect(text.includes("measured box 0.80 mm"), "the measured size is not shown");
    expect(text.includes("AV-5330-1"), "the seller's number did not find the part");
    expect(!d.complaints.length, d.complaints.join("; "));
    await d.close();
  });
  await check("a code is read through the camera where the browser can", async () => {
    const d = await device({ width: 390, permissions: ["camera"] });
    await d.page.addInitScript(() => {
      const detector = class { detect() { return Promise.resolve([{ rawValue: "QM-3105-F" }]); } };
      Object.defineProperty(window, "BarcodeDetector", { value: detector, configurable: true });
      const canvas = document.createElement("canvas");
      const pen = canvas.getContext("2d");
      setInterval(() => pen.fillRect(Math.random() * 90, 0, 9, 9), 50);
      navigator.mediaDevices.getUserMedia = () => Promise.resolve(canvas.captureStream(20));
    });
    await d.go("/job/0415/parts");
    await d.page.getByRole("button", { name: "Read a code" }).click();
    await d.page.waitForFunction(() => document.querySelector("#h-hits")?.textContent.includes("QM-3105-F"));
    expect((await d.page.locator(".pts b").first().textContent()) === "AV-3105-F", "the code did not find the part");
    expect(!d.complaints.length, d.complaints.join("; "));
    await d.close();
  });
  await check("without a detector of codes there is no button for it", async () => {
    const d = await device({ width: 390 });
    await d.page.addInitScript(() => Object.defineProperty(window, "BarcodeDetector", { value: undefined, configurable: true }));
    await d.go("/job/0415/parts");
    expect(!(await d.page.locator("[data-scan]").isVisible()), "the button is shown");
    await d.close();
  });
  await check("what if a seller is out, and an order goes out as a file", async () => {
    const d = await device({ width: 1280 });
    await d.go("/job/0415/order");
    const before = await d.page.locator("p.lead").textContent();
    await d.page.locator("a.rrow", { hasText: "Hollin Vale Pattern Parts" }).click();
    await d.page.waitForURL(/without=/);
    const after = await d.page.locator("p.lead").textContent();
    expect(before !== after, `the list stays ${after}`);
    expect(!(await d.page.locator(".seller h2").allTextContents()).includes("Hollin Vale Pattern Parts"), "the seller is still in the list");
    const [file] = await Promise.all([d.page.waitForEvent("download"), d.page.getByRole("link", { name: "Spreadsheet" }).first().click()]);
    expect(file.suggestedFilename().endsWith(".xlsx"), `the file is called ${file.suggestedFilename()}`);
    expect(!d.complaints.length, d.complaints.join("; "));
    await d.close();
  });
}

if (shots) mkdirSync(shots, { recursive: true });
const browser = await chromium.launch({
  executablePath: process.env.BUTTONUP_CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
try {
  measured("Chromium " + browser.version());
  if (!benchOnly) {
    await looks();
    await entry();
  }
  await live();
  if (!benchOnly) {
    await look();
    await partsJob();
  }
  await pace();
} finally {
  await shut(browser);
}
console.log(failures ? `${failures} failed` : "all passed");
process.exit(failures ? 1 : 0);
