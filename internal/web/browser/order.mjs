// Checks the pages of what comes before what, and the moments at the bench, in Debian's
// Chromium: order of work, spaces, tear-back.
//
//	node order.mjs http://127.0.0.1:8484
//
// The server holds the demo jobs, in 0418 also where the shafts read high, and the job
// 0900, at which an adjuster is set next; it is written to.
import path from "node:path";
import { check, device, down, expect, looks, measured, run, shots, text } from "./device.mjs";

const demo = process.argv[2];
const mostTaps = 2; // from the job page to what a moment needs

const pages = [
  { name: "route", path: "/job/0415/route" },
  { name: "route-why", path: "/job/0412/route?why=operation.cam_cover_on", units: "in" },
  { name: "route-stuck", path: "/job/0418/route" },
  { name: "spaces", path: "/job/0412/spaces" },
  { name: "tear", path: "/job/0412/tearback" },
  { name: "tear-answer", path: "/job/0412/tearback?to=space.crankcase&later=yes", units: "in" },
  { name: "job", path: "/job/0415" },
  { name: "size", path: "/job/0412/parts/head_gasket", units: "in" },
];
async function made() { await looks(demo, pages, "order"); }

// quietly runs a check with a device, which must not complain.
async function quietly(name, options, run) {
  await check(name, async () => {
    const d = await device(demo, options);
    try {
      await run(d);
      expect(d.complaints.length === 0, d.complaints.join("; "));
    } finally { await d.close(); }
  });
}

async function order() {
  await quietly("the order of work follows another device, and leads to the step", {}, async (d) => {
    const { page } = d, second = await device(demo);
    try {
      await second.go("/job/0412");
      const first = await second.page.locator("ol.chk a.todo[href*='/do/dry_build_apart/']").first().getAttribute("href");
      await d.go("/job/0412/route");
      expect(await page.locator(".dock a.go").getAttribute("href") === await page.locator(".route li.now a.t").getAttribute("href"), "the button does not lead to the first step");
      const row = page.locator(`.route:not(.past) a.t[href='${first}']`);
      expect(await row.count() > 0, "what can be done now is not in the order");
      const title = (await row.first().innerText()).replace(/^\d+\s*/, "").trim(), before = await row.count();
      await second.go(first);
      const live = page.waitForFunction(([href, n]) => document.querySelectorAll(`.route:not(.past) a.t[href='${href}']`).length < n, [first, before]).then(() => Date.now(), () => 0);
      await down(second.page, "[data-hold]", 1100);
      const pressed = Date.now(), heard = await live;
      expect(heard > 0, "it did not follow");
      measured(`the order of work follows another device after ${Math.max(0, heard - pressed)} ms`);
      await page.locator(".donefold summary").click();
      expect((await text(page, ".donefold")).includes(title), "what was done is not among what is done");
      await page.locator(".dock a.go").click();
      await page.waitForURL(/\/do\//);
    } finally { await second.close(); }
  });
  await quietly("why a step stands here: told, kept over a reload, folded again", {}, async (d) => {
    const { page } = d;
    await d.go("/job/0412/route");
    const why = page.locator(".whyl").nth(5), id = await why.getAttribute("id");
    await why.click();
    await page.waitForSelector(".whybox");
    expect((await text(page, ".whybox")).length > 10, "nothing is told");
    expect(await page.evaluate((id) => document.activeElement?.id === id, id), "the focus is lost");
    await page.reload();
    expect(await page.locator(".whybox").count() === 1, "a reload forgot it");
    await page.locator("#" + id).click();
    await page.waitForFunction(() => !document.querySelector(".whybox"));
  });
  await quietly("what cannot be finished: the chain, with what could break it, and where", {}, async (d) => {
    await d.go("/job/0418/route");
    await d.page.locator(".stuckhead a").click();
    expect(/Mainshaft runout after final truing/.test(await text(d.page, "#stuck")), "the reason is not told");
    expect(/What could break it\./.test(await text(d.page, "#stuck .breaks")), "what could break it is not told");
    await d.page.locator("#stuck .here a").first().click();
    await d.page.waitForURL(/\/read\//);
  });
  await quietly("without scripts: the order, a why, a space, a tear-back", { javaScriptEnabled: false }, async (d) => {
    const { page } = d;
    await d.go("/job/0415/route");
    await page.locator(".whyl").first().click();
    expect(await page.locator(".whybox").count() === 1, "why does not open");
    await d.go("/job/0412/tearback");
    await page.selectOption("select[name=to]", "space.crankcase");
    await page.click("main form button.go");
    expect((await text(page)).includes("This comes off, in this order"), "the choice is not answered");
  });
}

async function spaces() {
  await quietly("a space: from the job by one tap, from the drawing by another, to before you close", {}, async (d) => {
    const { page } = d;
    await d.go("/job/0412");
    await page.locator("#spaces a.rrow", { hasText: "Cam chest" }).click();
    await page.waitForURL(/\/spaces#space-cam_chest$/);
    await page.locator("svg.section a", { hasText: "Oil pump" }).click();
    await page.waitForURL(/#space-pump$/);
    expect(await page.locator("#space-pump").isVisible(), "the drawing does not lead to the list");
    expect(/not proven/.test(await text(page, "#space-pump")), "it is not said what is not proven");
    await page.locator("#space-pump a.btn", { hasText: "Before you close" }).click();
    await page.waitForURL(/\/do\/pump_built#closes$/);
    expect(await page.locator("#closes").isVisible(), "what it closes is not shown");
  });
}

async function tearing() {
  await quietly("a tear-back: chosen by one tap, prices, cautions, and on paper", { units: "in", theme: "dark" }, async (d) => {
    const { page } = d;
    await d.go("/job/0412/tearback");
    await page.locator("a.rrow", { hasText: "Crankcase" }).click();
    await page.waitForURL(/to=space\.crankcase/);
    const says = await text(page);
    for (const piece of ["To take back", "To do again", "This comes off, in this order", "Tighten again", "Read and look again", "Take care", "does not certify"]) {
      expect(says.includes(piece), `“${piece}” is missing`);
    }
    expect(/GBP/.test(says), "no price");
    await page.locator("a.btn", { hasText: "And if it is found later?" }).click();
    await page.waitForURL(/#later$/);
    expect(/Once all is done/.test(await text(page, "#later")) && await page.locator("svg.later").isVisible(), "what it takes later is not told");
    expect(/ft-lb|in-lb/.test(await text(page, ".tearcols")), "the torques are not in inch units");
    await page.emulateMedia({ media: "print" });
    expect(!(await page.locator("nav.nav").isVisible()) && !(await page.locator(".tabs").isVisible()), "the navigation is printed");
    expect(await page.locator(".off li").first().isVisible() && await page.locator(".certify").isVisible() && await page.locator(".printonly").isVisible(), "the sheet is not whole");
    const ink = await page.evaluate(() => getComputedStyle(document.querySelector(".off a")).color);
    expect(ink === "rgb(17, 17, 17)", `it is printed in ${ink}`);
    expect(await page.evaluate(() => [...document.querySelectorAll("details.keepprint p")].every((p) => p.getBoundingClientRect().height > 0)), "a caution is folded away on paper");
    if (shots) await page.pdf({ path: path.join(shots, "tearback.pdf"), format: "A4" });
  });
}

// The moments at the bench that a screen serves: where a builder is, what is tapped, and
// what must then be seen, as pieces of the page or as what it says. The numbers are those
// of the list they come from; 16 (compression low after the build) has no screen.
const readBore = "a.btn:has-text('Read Bore, rear')", more = "nav.nav a:has-text('More')", inSpaces = "nav.nav a:has-text('Spaces')";
const moments = [
  { n: 1, what: "may I close this now", job: "0412", taps: [inSpaces, ".sp.now a.btn.go"], sees: ["#closes", /thing.? inside (is|are) open/, /To come back right after: .* to take back/, /Once the engine is together: .* to take back/] },
  { n: 2, what: "the torque of this nut on this wrench", job: "0415", taps: ["a.btn:has-text('Go on:')"], sees: [".giant .fig", "svg.pattern", ".state", /Pass 4 of 4/i, /N·m/, /ft-lb|in-lb/] },
  { n: 3, what: "is it scrap", job: "0415", taps: [readBore], sees: ["input.reading", "input[name=digits]", ".cells", "#judge-cell svg", /Too close to call/, /oval|taper/i], mm: /92\.088/, in: /3\.62(5|6)/ },
  { n: 4, what: "which shim", job: "0412", taps: ["a.todo[href$='/do/chest_oiled']", "a:has-text('Which size')"], sees: ["#sizes", /the best/, /next best/], mm: /0\.90 mm/, in: /0\.0354 in/ },
  { n: 5, what: "may I turn the crank", job: "0415", taps: [], sees: ["#locks", /The crank (may|must not) be turned/] },
  { n: 6, what: "which way round", job: "0417", taps: ["summary:has-text('must wait')", "a.todo[href$='/do/carrier_on/rear']"], sees: ["#h-lay", /but is not/] },
  { n: 7, what: "what is missing", job: "0412", taps: [inSpaces], sees: ["#board", /in 2, out 0/, /in 1, out 1/] },
  { n: 8, what: "how many flats", job: "0900", taps: ["a.todo[href$='/do/set']", "a:has-text('Tap the flats')"], sees: ["[data-anykey]", /flats/] },
  { n: 9, what: "what did it read before", job: "0412", taps: ["a.btn:has-text('Find')"], asks: "rear ring gap", sees: [/Top ring end gap, rear/, /mm|in\b/] },
  { n: 10, what: "what does it cost now", job: "0412", taps: [more, "a.rrow[href$='/money']"], sees: [/Estimated/, "#h-est", "a[href$='/paper/estimate.pdf']"] },
  { n: 11, what: "is this part right", job: "0417", taps: ["a.btn:has-text('Parts')", "a[href*='/parts/carrier_gasket_rear']"], sees: [/does not fit here/, /What fits/, "#h-fits"] },
  { n: 12, what: "where do I hit", job: "0418", taps: [more, "a.rrow[href$='/numbers']"], sees: ["#figs svg", /Crank truing/, /Rap|Squeeze|Wedge/] },
  { n: 13, what: "what does a subletter need", job: "0415", taps: [readBore], sheet: "a[href*='/paper/sublet.pdf']", sees: [] },
  { n: 14, what: "the reading is at the limit", job: "0415", taps: [], sees: [/too close to call/, /Read it again with a ±/], mm: /92\.088/, in: /3\.62(5|6)/ },
  { n: 15, what: "where was I", job: "0415", taps: [], sees: [".where", /stage 3 done, stage 4 of 4 not begun/, /3 readings, 1 to go/, /not over/] },
  { n: 17, what: "explain it to the apprentice", job: "0415", taps: [readBore], sheet: "a[href*='/paper/handout.pdf']", sees: ["#judge-cell svg"] },
  { n: 18, what: "an engine of mixed years", job: "0415", taps: [more, "a.rrow[href$='/options']"], sees: [/By what is found on the parts, not by the year/, /Count the screw-side oil holes/] },
  { n: 19, what: "a photo with its label", job: "0412", taps: ["a.todo[href*='/do/']"], sees: ["form.photo-of input[type=file][capture]"] },
  { n: 20, what: "the owner on the phone years later", job: "0415", taps: ["a.btn:has-text('Find')"], asks: "B23107", sees: [/0412/, "a[href='/job/0412']"] },
];

async function bench() {
  for (const units of ["mm", "in"]) {
    const d = await device(demo, { units });
    for (const m of moments) {
      const taps = m.taps.length + (m.sheet ? 1 : 0);
      await check(`moment ${m.n}, ${m.what}: ${taps} taps, ${units}`, async () => {
        const { page } = d;
        d.complaints.length = 0;
        expect(taps <= mostTaps, "too many taps");
        await d.go("/job/" + m.job);
        for (const tap of m.taps) {
          const here = page.url();
          await page.locator(tap).first().click();
          if (!tap.startsWith("summary")) await page.waitForURL((u) => u.href !== here); // what unfolds stays on the page
        }
        if (m.asks) {
          await page.fill("#q", m.asks);
          await page.press("#q", "Enter");
          await page.waitForURL(/q=/);
        }
        if (m.sheet) {
          const answer = await d.context.request.get(demo + await page.locator(m.sheet).first().getAttribute("href"));
          expect(answer.status() === 200 && (await answer.body()).subarray(0, 5).toString() === "%PDF-", `the sheet is not there: ${answer.status()}`);
        }
        const says = await text(page, "body");
        for (const see of [...m.sees, m[units]]) {
          if (see instanceof RegExp) expect(see.test(says), `it does not say ${see}`);
          // A field for a file is worn by its button.
          else if (see) expect(see.includes("type=file") ? await page.locator(see).count() > 0 : await page.locator(see).first().isVisible(), `${see} is not to be seen`);
        }
        expect(d.complaints.length === 0, d.complaints.join("; "));
      });
    }
    await d.close();
  }
}

await run([[made], [order, spaces, tearing], [bench]]);
