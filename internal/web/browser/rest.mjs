// Checks in Debian's Chromium what the bench does without the shop's computer and what
// two people do together:
//
//	node rest.mjs http://127.0.0.1:8484 CASES
//
// CASES is a file of readings with what measure.FindSlip says of each. The server holds
// the demo jobs and is written to. Each check prints "ok", "FAIL" or "measured".
import { mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { chromium } from "playwright-core";
import { shut } from "./shut.mjs";

const [base, cases] = process.argv.slice(2);
const shots = process.env.BUTTONUP_SHOTS || "";
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
if (shots) mkdirSync(shots, { recursive: true });
let failures = 0;
function expect(is, what) { if (!is) throw new Error(what); }
const browser = await chromium.launch({ executablePath: process.env.BUTTONUP_CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"] });

async function check(name, run) {
  const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
  await context.addCookies([{ name: "buttonup_theme", value: "light", url: base }, { name: "buttonup_units", value: "mm", url: base }]);
  const page = await context.newPage(), faults = [];
  page.setDefaultTimeout(15_000);
  page.on("pageerror", (e) => faults.push(e.message));
  page.on("console", (m) => { if (/Content Security Policy/.test(m.text())) faults.push(m.text()); });
  try {
    await run(page, context);
    expect(faults.length === 0, faults.join("; "));
    console.log("ok " + name);
  } catch (e) {
    failures++;
    console.log("FAIL " + `${name}: ${e.message}`.replace(/\s*\n\s*/g, " | "));
  }
  await shut(context);
}
const open = (page, at) => page.goto(base + at, { waitUntil: "load" });
const shot = async (page, name) => { if (shots) await page.screenshot({ path: path.join(shots, name + ".png"), fullPage: true }); };
// off cuts the network, and waits until the page has understood.
async function off(page, context) {
  await context.setOffline(true);
  await page.waitForFunction(() => window.outbox.state().down);
}
// on waits until the phone has sent all that it kept, and until the page has then fetched
// itself: going elsewhere meanwhile would cut it off.
async function on(page, context) {
  await page.evaluate(() => { window.before = true; });
  await context.setOffline(false);
  await page.waitForFunction(() => !window.before && document.readyState === "complete", undefined, { timeout: 30_000 });
  expect((await page.evaluate(() => window.outbox.count())) === 0, "what was kept is not sent");
}
// sound holds a page to what a screen reader and a thumb need.
async function sound(page) {
  await page.evaluate(axe);
  const found = await page.evaluate(async () => (await window.axe.run()).violations.map((v) => v.id + ": " + v.nodes.map((n) => n.target.join(" ")).join(", ")));
  expect(found.length === 0, found.join("; "));
  const small = await page.evaluate(() => [...document.querySelectorAll("main a.btn, main button, main select:not(.tag select), main summary")].filter((e) => e.checkVisibility() && !e.closest(".vh") && !e.classList.contains("vh")).map((e) => [e, e.getBoundingClientRect()]).filter(([, r]) => r.height && (r.height < 47.5 || r.width < 47.5)).map(([e]) => e.outerHTML.slice(0, 80)));
  expect(small.length === 0, "too small for a thumb: " + small.join("; "));
  const spill = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  expect(spill <= 0, `${spill} px wider than the screen`);
}

await check("the phone asks what the computer would ask, over many readings", async (page) => {
  const list = JSON.parse(readFileSync(cases, "utf8"));
  await open(page, "/job/0415/readings");
  await page.locator("a[href*='/read/']").first().click();
  await page.waitForFunction(() => window.slips);
  const wrong = await page.evaluate((list) => list.map((c) => {
    const got = window.slips.find(c.typed, c.about, c.others);
    const says = got ? (got.meant ? "meant " + got.meant : got.because.startsWith("The nearest") ? "jump" : "far") : "nothing";
    return says === c.want ? "" : `${JSON.stringify(c)}: ${says}`;
  }).filter(Boolean), list);
  expect(list.length > 300 && wrong.length === 0, `${wrong.length} of ${list.length} differ: ${wrong.slice(0, 3).join("; ")}`);
});

await check("a likely slip is asked about while the computer cannot be reached", async (page, context) => {
  await open(page, "/job/0415/read/case_spigot_bore?place=front");
  const kept = () => page.evaluate(() => window.outbox.count());
  await off(page, context);
  await page.locator("input.reading").fill("3.861");
  await page.keyboard.press("Enter");
  await page.locator("#question").waitFor();
  const asked = await page.locator("#question").innerText();
  expect(/Is 3\.861 mm right/.test(asked) && /Did you mean 3\.861 in\?/.test(asked) && /Nothing is kept yet/.test(asked), asked);
  expect((await kept()) === 0, "it is kept before the answer");
  await shot(page, "slip-offline");
  await sound(page);
  // Corrected, it is kept without more questions.
  await page.locator("input.reading").fill("98.07");
  await page.keyboard.press("Enter");
  await page.waitForFunction(() => window.outbox.count().then((n) => n === 1));
  expect(await page.locator("#question").count() === 0, "the question stays");
  // Kept as typed after the question, it says so.
  await page.locator("input.reading").fill("99.4");
  await page.keyboard.press("Enter");
  await page.getByRole("button", { name: "Keep 99.4 mm as typed" }).click();
  await page.waitForFunction(() => window.outbox.count().then((n) => n === 2));
  // What was meant may be taken.
  await page.locator("input.reading").fill("3.861");
  await page.keyboard.press("Enter");
  await page.getByRole("button", { name: "It was 3.861 in" }).click();
  await page.waitForFunction(() => window.outbox.count().then((n) => n === 3));
  await on(page, context);
  await open(page, "/job/0415/kept/case_spigot_bore?place=front");
  const text = await page.locator("main").innerText();
  expect(text.includes("3.861 in") && text.includes("99.4") && !/3\.861 mm/.test(text), "kept: " + text.slice(0, 300));
  await open(page, "/job/0415/read/case_spigot_bore?place=front");
  expect(!/kept without being asked/.test(await page.locator("main").innerText()), "what was asked about is asked again");
});

await check("a slip that came unasked is a question when it arrives, and until it is answered", async (page, context) => {
  await open(page, "/job/0415/read/case_spigot_bore?place=rear");
  await page.evaluate(() => window.outbox.add("0415", { kind: "reading", of: "case_spigot_bore", place: "rear", cell: { position: "upper", axis: "along the shaft" }, value: "3861 mm" }, "Spigot bore"));
  await page.waitForFunction(() => /looks like a slip/.test((document.querySelector("#outbox > p") || {}).textContent || ""));
  await page.locator("#outbox summary").click();
  await page.locator("#outbox a", { hasText: "Look at it" }).click();
  const notice = page.locator("section[aria-label='A reading that looks like a slip']");
  await notice.waitFor();
  await shot(page, "slip-delivered");
  await sound(page);
  await notice.getByRole("button", { name: "3861 mm is right" }).click();
  await page.waitForFunction(() => !document.querySelector("section[aria-label='A reading that looks like a slip']"));
});

await check("all of these looks: yes, without the computer", async (page, context) => {
  const at = "/job/0412/do/carrier_gasket_proof/front";
  await open(page, at);
  const many = await page.locator("[data-outbox-each]").count();
  expect(many >= 2, `${many} looks`);
  await off(page, context);
  await page.getByRole("button", { name: "All of these looks: yes" }).click();
  await page.waitForFunction((n) => window.outbox.count().then((k) => k === n), await page.locator("input[name=yes]").count());
  await on(page, context);
  await open(page, at);
  expect(await page.locator("input[name=yes]").count() === 0, "the looks are still to be answered");
});

await check("anyway, with its reason, without the computer", async (page, context) => {
  const at = "/job/0415/do/backlash_set";
  await open(page, at);
  await off(page, context);
  await page.locator("details.anyway > summary").click();
  await page.locator("details.anyway textarea").fill("tried dry, comes off again");
  await page.locator("details.anyway button.btn:not(.quiet)").first().click();
  await page.waitForFunction(() => window.outbox.count().then((k) => k >= 1));
  await on(page, context);
  await open(page, at);
  const text = await page.locator("main").innerText();
  expect(/Done /.test(text) && text.includes("tried dry, comes off again"), text.slice(0, 200));
});

await check("catching up, without the computer", async (page, context) => {
  await open(page, "/job/0412/catchup");
  const box = page.locator("input[name=yes]").first(), name = await box.getAttribute("value");
  await page.locator("label.tick").first().click();
  await off(page, context);
  await page.getByRole("button", { name: "Enter what is ticked" }).click();
  await page.waitForFunction(() => window.outbox.count().then((k) => k === 1));
  await on(page, context);
  await open(page, "/job/0412/entries");
  expect(/entered later/i.test(await page.locator("main").innerText()), "nothing is marked as entered later");
  await open(page, "/job/0412/catchup");
  expect(await page.locator(`input[name=yes][value="${name}"]`).count() === 0, name + " is still to be entered");
});

await shut(browser);
process.exit(failures ? 1 : 0);
