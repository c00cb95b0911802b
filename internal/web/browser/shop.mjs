// Checks phones in the shop with Debian's Chromium: pairing, the outbox with the network
// cut and the server killed, loading again, a second device, photos.
//
//	node shop.mjs SERVER PORT FOLDER
//
// SERVER is a program that serves the demo jobs (the test binary in its role of a server);
// this script starts and kills it. HOME must be a folder of its own: the browser's trust in
// the certificate of the shop is kept there. Each check prints "ok", "FAIL" or "measured".
import { spawn, execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { chromium } from "playwright-core";
import { shut } from "./shut.mjs";

const [program, port, folder] = process.argv.slice(2);
const here = `http://127.0.0.1:${port}`, phone = `https://bench.local:${port}`, plain = `http://bench.local:${port}`;
const shots = process.env.BUTTONUP_SHOTS || "";
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
let failures = 0, a, b;
// BUTTONUP_ONLY=words runs the checks of these names, and the pairing that they need.
const only = process.env.BUTTONUP_ONLY ? new RegExp(process.env.BUTTONUP_ONLY + "|is paired by the code") : null;
const measured = (what) => console.log("measured " + what);
function expect(is, what) {
  if (!is) throw new Error(what);
}
async function check(name, run) {
  if (only && !only.test(name)) return;
  try {
    if (a) await a.context.setOffline(false);
    await run();
    console.log("ok " + name);
  } catch (e) {
    failures++;
    console.log("FAIL " + `${name}: ${e.message}`.replace(/\s*\n\s*/g, " | "));
  }
}

let server = null;
function start() {
  return new Promise((ok, no) => {
    const s = spawn(program, [], { env: { ...process.env, BUTTONUP_WEB_CHILD: `0.0.0.0:${port}`, BUTTONUP_WEB_FOLDER: folder, BUTTONUP_WEB_PLAIN: "1" }, stdio: ["ignore", "pipe", "inherit"] });
    server = s;
    s.stdout.on("data", (d) => { if (String(d).startsWith("ready")) ok(); else no(new Error(String(d))); });
    s.on("exit", (code) => { if (server === s) no(new Error(`the server ended with ${code}`)); });
  });
}
function kill() {
  return new Promise((ok) => {
    const s = server;
    server = null;
    s.on("exit", ok);
    s.kill("SIGKILL");
  });
}

await start();
// The browser comes to trust the certificate as a phone does.
const certificate = path.join(process.env.HOME, "buttonup.crt");
mkdirSync(path.join(process.env.HOME, ".pki/nssdb"), { recursive: true });
writeFileSync(certificate, Buffer.from(await (await fetch(here + "/trust/buttonup.crt")).arrayBuffer()));
execFileSync("certutil", ["-d", "sql:" + path.join(process.env.HOME, ".pki/nssdb"), "-N", "--empty-password"]);
execFileSync("certutil", ["-d", "sql:" + path.join(process.env.HOME, ".pki/nssdb"), "-A", "-t", "C,,", "-n", "buttonup", "-i", certificate]);

const browser = await chromium.launch({
  executablePath: process.env.BUTTONUP_CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--host-resolver-rules=MAP bench.local 127.0.0.1"],
});

async function device(width = 390) {
  const context = await browser.newContext({ viewport: { width, height: 844 } });
  const page = await context.newPage();
  page.setDefaultTimeout(30_000);
  page.faults = [];
  page.on("pageerror", (e) => page.faults.push(e.message));
  page.on("console", (m) => { if (m.text().startsWith("policy:") || /Content Security Policy/.test(m.text())) page.faults.push(m.text()); });
  await page.addInitScript(() => {
    document.addEventListener("securitypolicyviolation", (e) => console.error(`policy: ${e.violatedDirective} ${e.blockedURI}`));
  });
  return { context, page };
}
async function shot(page, name) {
  if (shots) await page.screenshot({ path: path.join(shots, name + ".png"), fullPage: true });
}
// sound checks a page for what a screen reader and a thumb would stumble on.
async function sound(page, name) {
  await page.evaluate(axe);
  const found = await page.evaluate(async () => (await window.axe.run()).violations.map((v) => v.id + ": " + v.nodes.map((n) => n.target.join(" ")).join(", ")));
  expect(found.length === 0, `${name}: ${found.join("; ")}`);
  const small = await page.evaluate(() => [...document.querySelectorAll("a.btn, button, select, input:not([type=hidden]):not(.vh), summary")].filter((e) => e.checkVisibility() && !e.closest(".vh") && !e.classList.contains("vh")).map((e) => [e, e.getBoundingClientRect()]).filter(([, r]) => r.height && (r.height < 47.5 || r.width < 47.5)).map(([e, r]) => `${e.outerHTML.slice(0, 60)} ${Math.round(r.width)}×${Math.round(r.height)}`));
  expect(small.length === 0, `${name}: too small for a thumb: ${small.join("; ")}`);
  const spill = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  expect(spill <= 0, `${name}: ${spill} px wider than the screen`);
}

const desk = await device(1280);
await desk.page.goto(here + "/devices");
async function code() {
  await desk.page.goto(here + "/devices");
  await desk.page.getByRole("button", { name: /Show a code|Another code/ }).click();
  return (await desk.page.locator("#code").innerText()).trim();
}
async function pair(at, name) {
  const d = await device();
  const c = await code();
  await d.page.goto(at + "/pair/" + c.replace("-", ""));
  await d.page.locator("input[name=name]").fill(name);
  await d.page.getByRole("button", { name: "Pair" }).click();
  await d.page.waitForURL(at + "/");
  return d;
}
const waiting = (page) => page.evaluate(() => window.outbox.count());
const bar = (page) => page.locator("#outbox > p").innerText();
// until asks a page again and again: waitForFunction takes a promise for a yes.
async function until(page, ask, what) {
  // A page that is on its way to another cannot answer.
  for (const end = Date.now() + 40_000; !(await page.evaluate(ask).catch(() => false)); await page.waitForTimeout(50)) {
    expect(Date.now() < end, `it does not come: ${what}`);
  }
}
const sent = (page) => until(page, () => window.outbox.count().then((n) => n === 0), "all is sent");
// kept are the texts of the notes that the phone made, as the journal has them.
async function journal(job) {
  const out = execFileSync(program, [], { env: { ...process.env, BUTTONUP_WEB_READ: folder, BUTTONUP_WEB_JOB: job } });
  return String(out).trim().split("\n").filter(Boolean).map((l) => JSON.parse(l));
}
const notes = async (job, prefix) => (await journal(job)).filter((e) => e.kind === "note" && e.text.startsWith(prefix));
const note = (page, text) => page.evaluate((t) => window.outbox.add("0415", { kind: "note", text: t }, "Note").then(() => {}), text);

await check("a stranger sees the pairing page and nothing else", async () => {
  const d = await device();
  for (const p of ["/", "/job/0417", "/devices", "/job/0417/numbers", "/token", "/sw.js", "/photos"]) {
    const r = await d.page.goto(phone + p);
    const text = await d.page.locator("body").innerText();
    expect(r.status() === 401 && text.includes("Pair this device") && !/Pell|0417/.test(text), `${p}: ${r.status()}`);
  }
  await sound(d.page, "pair");
  await shot(d.page, "pair-390");
  await d.page.locator("input[name=code]").fill("0000-0000");
  await d.page.getByRole("button", { name: "Pair" }).click();
  expect((await d.page.locator("#says").innerText()).includes("not the code"), "a wrong code is not refused");
  await shut(d.context);
});

await check("a phone is paired by the code on the screen, once", async () => {
  a = await pair(phone, "phone a");
  expect((await a.page.locator("h1").innerText()) === "Bench", "the bench does not open");
  const cookies = await a.context.cookies();
  const c = cookies.find((x) => x.name === "__Host-buttonup");
  expect(c && c.httpOnly && c.secure && c.sameSite === "Strict", JSON.stringify(cookies));
  await desk.page.goto(here + "/devices");
  expect((await desk.page.locator("body").innerText()).includes("phone a"), "it is not in the list");
  const again = await code();
  const d = await device();
  for (const want of ["/", "/pair"]) {
    await d.context.clearCookies();
    await d.page.goto(`${phone}/pair/${again.replace("-", "")}`);
    await d.page.getByRole("button", { name: "Pair" }).click();
    await d.page.waitForURL(phone + want);
  }
  await shut(d.context);
  b = await pair(phone, "phone b");
});

await check("devices, people, photos and trust: sound at 360 and 1280 px", async () => {
  await desk.page.goto(here + "/devices");
  await code();
  for (const width of [360, 1280]) {
    for (const [name, at] of [["devices", here + "/devices"], ["people", here + "/people"], ["trust", here + "/trust"], ["photos", here + "/job/0415/photos"]]) {
      await desk.page.setViewportSize({ width, height: 844 });
      await desk.page.goto(at);
      await sound(desk.page, `${name} ${width}`);
      await shot(desk.page, `${name}-${width}`);
    }
  }
  await a.page.goto(phone + "/devices");
  await sound(a.page, "own device");
  await shot(a.page, "own-device-390");
});

await check("what is entered without a network waits in order and is delivered once", async () => {
  await a.page.goto(phone + "/job/0415");
  await a.context.setOffline(true);
  for (let i = 0; i < 20; i++) await note(a.page, `cut ${i}`);
  expect((await waiting(a.page)) === 20, `${await waiting(a.page)} wait`);
  await a.page.waitForFunction(() => document.querySelector("#outbox > p").textContent.includes("On this phone: 20 to send"));
  expect((await bar(a.page)).startsWith("Not connected"), await bar(a.page));
  await a.page.locator("#outbox summary").click();
  await sound(a.page, "outbox");
  await shot(a.page, "outbox-390");
  await a.context.setOffline(false);
  await sent(a.page);
  const kept = await notes("0415", "cut ");
  expect(kept.map((e) => e.text).join() === [...Array(20).keys()].map((i) => `cut ${i}`).join(), kept.map((e) => e.text).join());
  expect(kept.every((e) => e.by === "phone a"), `by ${kept[0].by}`);
});

await check("over https a page loads again without a network, and keeps what waits", async () => {
  await a.page.goto(phone + "/job/0415");
  await a.page.evaluate(() => navigator.serviceWorker.ready.then(() => {}));
  await until(a.page, () => caches.open("buttonup-pages").then((c) => c.keys()).then((k) => k.some((r) => r.url.endsWith("/job/0415/numbers"))), "the pages of the job are kept");
  await a.context.setOffline(true);
  for (let i = 0; i < 5; i++) await note(a.page, `again ${i}`);
  await a.page.reload();
  expect((await a.page.locator("h1").innerText()).length > 0 && (await waiting(a.page)) === 5, `${await waiting(a.page)} wait after loading again`);
  for (let i = 5; i < 8; i++) await note(a.page, `again ${i}`);
  // A page that was never opened itself, and was kept because this one leads to it.
  await a.page.goto(phone + "/job/0415/numbers");
  expect((await a.page.locator("h1").innerText()) === "Numbers", await a.page.locator("h1").innerText());
  await a.page.goto(phone + "/job/nowhere");
  expect((await a.page.locator("h1").innerText()) === "Not connected", "no page for what was not kept");
  await a.context.setOffline(false);
  await a.page.goto(phone + "/job/0415");
  await sent(a.page);
  const kept = await notes("0415", "again ");
  expect(kept.map((e) => e.text).join() === [...Array(8).keys()].map((i) => `again ${i}`).join(), kept.map((e) => e.text).join());
});

// find opens pages that lead on from a job until one has a form of a kind.
async function find(page, job, kind) {
  await page.goto(`${phone}/job/${job}`);
  const links = await page.locator("a[href*='/do/'], a[href*='/wrench/']").evaluateAll((all) => [...new Set(all.map((x) => x.getAttribute("href").split("#")[0]))]);
  for (let i = 0; i < links.length && i < 25; i++) {
    const next = links[i];
    await page.goto(phone + next);
    if (await page.locator(kind).count()) return;
    for (const l of await page.locator("a[href*='/wrench/']").evaluateAll((all) => all.map((x) => x.getAttribute("href")))) if (!links.includes(l)) links.splice(i + 1, 0, l);
  }
  throw new Error(`no page of ${job} has ${kind}`);
}
for (const [name, job, kind, press] of [
  ["a check", "0417", "form[data-outbox*='\"check\"']", "button[data-event=answer]"],
  ["a torque pass", "0417", "form[data-outbox*='\"torque\"']", "button"],
  ["work done", "0417", "form[data-outbox*='\"operation\"'][data-outbox*='\"done\"']", "button"],
]) {
  await check(`${name} without a network, by the form of its page`, async () => {
    await find(a.page, job, kind);
    const before = (await journal(job)).length, form = a.page.locator(kind).first();
    const want = JSON.parse(await form.getAttribute("data-outbox"));
    await a.context.setOffline(true);
    await a.page.waitForFunction(() => document.querySelector("#outbox > p")?.textContent.startsWith("Not connected"));
    await form.locator(press).first().click({ delay: 1500 });
    await until(a.page, () => window.outbox.count().then((n) => n === 1), "it waits");
    await a.context.setOffline(false);
    await sent(a.page);
    const added = (await journal(job)).slice(before);
    expect(added.length === 1 && added[0].kind === want.kind && added[0].by === "phone a" && Object.keys(want).every((k) => JSON.stringify(added[0][k]) === JSON.stringify(want[k])), `${JSON.stringify(added)}, wanted ${JSON.stringify(want)}`);
  });
}

await check("a pattern goes on, pass after pass, without a network", async () => {
  await find(a.page, "0418", "form[data-outbox*='\"torque\"']");
  const passes = 1 + await a.page.locator("#live > template").count();
  expect(passes > 1, "the joint has one press only, so nothing is proven");
  const n = Math.min(passes, 3), wants = [], before = (await journal("0418")).length;
  await a.context.setOffline(true);
  await a.page.waitForFunction(() => document.querySelector("#outbox > p")?.textContent.startsWith("Not connected"));
  for (let i = 0; i < n; i++) {
    const form = a.page.locator("#live > .dock form[data-outbox], #live form.pressform").first();
    wants.push({ ...JSON.parse(await form.getAttribute("data-outbox")), figure: (await a.page.locator("#live > .giant .fig").innerText()).trim() });
    await form.locator("button").click({ delay: 1500 });
    await until(a.page, `window.outbox.count().then((n) => n === ${i + 1})`, "it waits");
    await a.page.waitForTimeout(700);
  }
  expect(new Set(wants.map((w) => `${w.stage} ${w.point}`)).size === n, `the same press twice: ${JSON.stringify(wants)}`);
  await shot(a.page, "wrench-away-390");
  const stood = () => a.page.evaluate(() => [document.querySelector("#live h1").textContent.trim(), document.querySelector("#live .giant .fig")?.textContent.trim(), document.querySelector("#live .pressform button")?.textContent.trim()].join(" | ").replace(/\s+/g, " "));
  const away = await stood();
  await a.context.setOffline(false);
  await sent(a.page);
  await a.page.goto(a.page.url());
  expect((await stood()) === away, `without the computer it stood at ${away}, with it at ${await stood()}`);
  const added = (await journal("0418")).slice(before);
  expect(JSON.stringify(added.map((e) => [e.kind, e.stage, e.point, e.value])) === JSON.stringify(wants.map((w) => [w.kind, w.stage, w.point, w.value])), `${JSON.stringify(added)}, wanted ${JSON.stringify(wants)}`);
});

await check("readings without a network, cell after cell", async () => {
  await a.page.goto(phone + "/job/0415/read/stud_lean?place=" + encodeURIComponent("front 1"));
  await a.page.waitForTimeout(300);
  await a.page.goto(phone + "/job/0415/read/case_spigot_bore?place=front");
  const before = (await journal("0415")).length;
  await a.context.setOffline(true);
  await a.page.waitForFunction(() => document.querySelector("#outbox > p")?.textContent.startsWith("Not connected"));
  for (const v of ["98.07", "98.08"]) {
    await a.page.locator("input.reading").fill(v);
    await a.page.locator("input.reading").press("Enter");
    await a.page.waitForFunction((x) => document.querySelector("input.reading").value === "" && [...document.querySelectorAll(".cell.waits")].some((c) => c.textContent.includes(x)), v);
  }
  await shot(a.page, "read-away-390");
  await a.context.setOffline(false);
  await sent(a.page);
  const added = (await journal("0415")).slice(before);
  expect(added.map((e) => `${e.kind} ${e.value} ${e.cell.position} ${e.cell.axis}`).join("; ") === "reading 98.07 mm upper along the shaft; reading 98.08 mm upper across the shaft", JSON.stringify(added));
});

await check("the server is killed and started again", async () => {
  await a.page.goto(phone + "/job/0415");
  await note(a.page, "killed 0");
  await sent(a.page);
  await kill();
  for (let i = 1; i < 6; i++) await note(a.page, `killed ${i}`);
  await a.page.waitForFunction(() => document.querySelector("#outbox > p")?.textContent.includes("5 to send"));
  await a.page.reload();
  await note(a.page, "killed 6");
  expect((await waiting(a.page)) === 6, `${await waiting(a.page)} wait`);
  await start();
  await sent(a.page);
  const kept = await notes("0415", "killed ");
  expect(kept.map((e) => e.text).join() === [...Array(7).keys()].map((i) => `killed ${i}`).join(), kept.map((e) => e.text).join());
});

await check("plain http: entries wait in the open page and are delivered once", async () => {
  const p = await pair(plain, "phone plain");
  const secure = await p.page.evaluate(() => window.isSecureContext);
  expect(!secure, "this is a secure context, so nothing is proven");
  await p.page.goto(plain + "/job/0415");
  await p.context.setOffline(true);
  for (let i = 0; i < 6; i++) await note(p.page, `plain ${i}`);
  expect((await waiting(p.page)) === 6, "they do not wait");
  await p.context.setOffline(false);
  await p.page.reload();
  await sent(p.page);
  const kept = await notes("0415", "plain ");
  expect(kept.map((e) => e.text).join() === [0, 1, 2, 3, 4, 5].map((i) => `plain ${i}`).join(), kept.map((e) => e.text).join());
  // Its token opens nothing over https.
  const r = await p.page.goto(phone + "/job/0415");
  expect(r.status() === 401, `over https: ${r.status()}`);
  expect(p.page.faults.length === 0, p.page.faults.join("; "));
  await shut(p.context);
});

await check("a second device shows what the first entered", async () => {
  const took = [];
  for (let i = 0; i < 7; i++) {
    const stream = b.page.waitForResponse((r) => r.url().includes("/events"));
    await b.page.goto(phone + "/job/0415/photos");
    await stream;
    await a.page.bringToFront();
    await b.page.bringToFront();
    await b.page.evaluate(() => {
      const seq = () => Math.max(0, ...[...document.querySelectorAll("[data-seq]")].map((e) => Number(e.dataset.seq) || 0)), first = seq();
      window.seen = new Promise((done) => new MutationObserver(() => { if (seq() > first) requestAnimationFrame(() => done(Date.now())); }).observe(document.body, { subtree: true, childList: true, attributes: true }));
    });
    const pressed = Date.now();
    await note(a.page, `seen ${i}`);
    took.push((await b.page.evaluate(() => window.seen)) - pressed);
  }
  took.sort((x, y) => x - y);
  measured(`from an entry on one phone to the picture on another, ms: ${took.join(" ")}`);
});

await check("a photo: two taps, smaller, without its place, also without a network", async () => {
  await a.page.goto(phone + "/job/0415/photos");
  // A picture as a camera makes it, with a place in it.
  const jpeg = await a.page.evaluate(async () => {
    const c = new OffscreenCanvas(3000, 2000), g = c.getContext("2d");
    for (let i = 0; i < 3000; i += 10) { g.fillStyle = `rgb(${i % 255},${(i * 7) % 255},90)`; g.fillRect(i, 0, 10, 2000); }
    return [...new Uint8Array(await (await c.convertToBlob({ type: "image/jpeg", quality: 0.95 })).arrayBuffer())];
  });
  const raw = Buffer.from(jpeg), place = Buffer.from("Exif\0\0 GPS 50.1234 N 8.5678 E");
  const head = Buffer.from([0xff, 0xd8, 0xff, 0xe1, 0, place.length + 2]);
  const file = path.join(process.env.HOME, "photo.jpg");
  writeFileSync(file, Buffer.concat([head, place, raw.subarray(2)]));
  await a.context.setOffline(true);
  await a.page.locator("input[type=file]").first().setInputFiles(file);
  await until(a.page, () => window.outbox.count().then((n) => n === 1), "the photo waits");
  await a.context.setOffline(false);
  await sent(a.page);
  const e = (await journal("0415")).filter((x) => x.kind === "photo").at(-1);
  const kept = Buffer.from(await (await fetch(`${here}/photo/${e.sha256}`)).arrayBuffer());
  expect(!kept.includes("GPS") && kept.length < raw.length, `${kept.length} bytes of ${raw.length}`);
  await a.page.waitForSelector(".photolist img");
  await a.page.waitForFunction(() => document.querySelector(".photolist img").naturalWidth === 320);
  measured(`a photo of ${raw.length} bytes was kept with ${kept.length}`);
  await sound(a.page, "photos");
  await shot(a.page, "photos-with-one-390");
});

await check("a device that is sent away is shut out at once", async () => {
  await b.page.goto(phone + "/job/0415");
  await desk.page.goto(here + "/devices");
  await desk.page.getByRole("button", { name: "Send away phone b" }).click();
  await note(b.page, "shut out");
  await b.page.waitForFunction(() => document.querySelector("#outbox > p")?.textContent.includes("no longer paired"));
  expect((await waiting(b.page)) === 1, "its entry is lost");
  const r = await b.page.goto(phone + "/job/0415");
  expect(r.status() === 401, `${r.status()}`);
  expect((await notes("0415", "shut out")).length === 0, "it was kept all the same");
});

for (const d of [a, b, desk]) {
  if (d && d.page.faults.length) { failures++; console.log("FAIL faults on pages: " + d.page.faults.join("; ")); }
}
await shut(browser);
await kill();
console.log(failures ? `${failures} failed` : "all passed");
process.exit(failures ? 1 : 0);
