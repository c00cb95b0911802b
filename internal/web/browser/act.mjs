// Checks the pages on which work is done in Debian's Chromium, as a builder would use
// them: an operation, the wrench, the doors, catching up, the first start.
//
//	node act.mjs http://127.0.0.1:8484 http://127.0.0.1:8485
//
// The first server holds the demo jobs, the second an empty record; both are written to.
import path from "node:path";
import { again, changes, check, device, down, expect, hold, looks, measured, run, seq, shots, text } from "./device.mjs";

const [demo, empty] = process.argv.slice(2);
const mostActions = 60; // of the stranger, from an empty bench to a recorded carrier
const mostTaps = 2; // from the job page to what a moment needs

const pages = [
  { name: "do", path: "/job/0412/do/pump_drive_in" },
  { name: "do-closes", path: "/job/0412/do/carrier_on/front" },
  { name: "do-second-end", path: "/job/0412/do/dry_build_apart/rear" },
  { name: "do-done", path: "/job/0412/do/final_wash" },
  { name: "wrench", path: "/job/0412/wrench/head_nuts/front" },
  { name: "wrench-inch", path: "/job/0412/wrench/lifter_carrier/front", units: "in" },
  { name: "tools", path: "/job/0412/instruments" },
  { name: "flats", path: "/job/0412/flats/adjuster_flats/front%20inlet" },
  { name: "catchup", path: "/job/0412/catchup" },
  { name: "start", path: "/job/0412/start" },
  { name: "card", path: "/job/0412/card/carrier_on/front" },
  { name: "figures", path: "/job/0412/figures" },
  { name: "keep", path: "/job/0412/keep" },
  { name: "entries", path: "/job/0412/entries" },
  { name: "options", path: "/job/0412/options" },
  { name: "paper", path: "/job/0412/paper" },
  { name: "film", path: "/job/0412/film" },
  { name: "money", path: "/job/0412/money" },
  { name: "stands", path: "/job/0412/stands" },
  { name: "readingstable", path: "/job/0412/readingstable" },
  { name: "bag", path: "/job/0412/at/bag.Screws%20rear" },
  { name: "settings", path: "/settings" },
  { name: "add", path: "/job/0412/add" },
  { name: "more", path: "/job/0412/more" },
  { name: "doors", path: "/new" },
  { name: "new-part", path: "/new/part", units: "in" },
  { name: "new-join", path: "/new/join" },
  { name: "new-pack", path: "/new/pack" },
];

// The stranger: from an empty bench to a torqued, recorded carrier of an engine that no
// pack knows, by forms only.
async function stranger() {
  for (const units of ["mm", "in"]) {
    await check(`a stranger joins a carrier that no pack knows, ${units}`, async () => {
      const d = await device(empty, { units });
      try {
        const { page } = d;
        let actions = 0;
        const act = async (run) => { actions++; await run(); };
        const fill = (name, value) => act(() => page.fill(`main [name=${name}]`, value));
        const tap = (selector) => act(() => page.locator(selector).first().click());
        await d.go("/");
        if (units === "in") await tap("a[href='/new']"); // the bench is no longer empty
        await tap("a[href='/new/join']");
        await fill("engine", `A twin that nobody knows, ${units}`);
        await fill("title", "Front lifter carrier");
        await fill("part1", "Lifter carrier");
        await fill("number1", "LC-48");
        await fill("part2", "Carrier gasket");
        await fill("number2", "G-12");
        await tap("label.tick:has([name=new2])");
        await fill("faces", "nothing");
        await fill("threads", "thread locker");
        if (units === "in") await act(() => page.selectOption("[name=torque_unit]", "in-lb"));
        await fill("torque_low", units === "in" ? "80" : "9.0");
        await fill("torque_high", units === "in" ? "97" : "11.0");
        await fill("thread", units === "in" ? "1/4-24" : "M6x1.0");
        await fill("source", "manual page 88");
        await fill("stages", units === "in" ? "35, 62, 88" : "4, 8, 10");
        await fill("fasteners", "4");
        for (const i of [1, 3, 2, 4]) await tap(`#pattern .pt:nth-of-type(${i})`);
        await fill("look1", "Both lifters drop by their own weight");
        await fill("look2", "The oil hole is open");
        await fill("look3", "Pins counted, none left in");
        await fill("closes", "Cam chest");
        await fill("inside", "Cam oiled");
        await tap("main form button.go");
        await page.waitForURL(/\/do\/front_lifter_carrier/);
        expect((await text(page, "#closes")).includes("1 left to do inside: Cam oiled"), "the card does not say what is unfinished inside");
        await tap("a:has-text('Cam oiled is not done')");
        await page.waitForURL(/\/do\/cam_oiled/);
        actions++;
        await hold(page);
        await tap("a.btn.go:has-text('Next')");
        await page.waitForURL(/\/do\/front_lifter_carrier/);
        actions++;
        await changes(page, () => page.click("text=All of these looks: yes"));
        await tap("a.rrow[href*='/wrench/']");
        await tap("a:has-text('A wrench that is not here')");
        await fill("name", "small clicker");
        await fill("min", units === "in" ? "20" : "2");
        await fill("max", units === "in" ? "200" : "20");
        if (units === "in") await act(() => page.selectOption("[name=unit]", "in-lb"));
        actions++;
        await page.click("text=Keep the wrench");
        await page.waitForURL(/\/wrench\//);
        const wanted = units === "in" ? ["35", "62", "88"] : ["4.0", "8.0", "10"];
        for (let pass = 1; pass <= 3; pass++) {
          expect((await text(page, "h1")) === `Pass ${pass} of 3`, `the page shows ${await text(page, "h1")}`);
          const shown = (await text(page, ".giant .fig")).replace("Set the wrench to", "").trim();
          expect(Number(shown) === Number(wanted[pass - 1]), `pass ${pass} shows ${shown}`);
          expect((await text(page, ".giant .unit")) === (units === "in" ? "in-lb" : "N·m"), "not the unit of the wrench");
          actions++;
          if (units === "in") {
            await page.waitForTimeout(650);
            await changes(page, () => page.keyboard.press("ArrowRight"));
          } else await hold(page);
        }
        await tap("a:has-text('Tight. Back to')");
        await page.waitForURL(/\/do\//);
        actions++;
        await hold(page);
        expect((await text(page)).includes("Done "), "the carrier is not recorded as done");
        await d.go(page.url().replace(d.base, "").replace(/\/do\/.*/, ""));
        const job = await text(page);
        expect(job.includes("Cam chest") && job.includes("closed") && job.includes("Nothing stops this job"), "the job does not show it closed: " + job.slice(0, 200));
        measured(`the stranger took ${actions} actions, ${units}`);
        expect(actions <= mostActions, `${actions} actions`);
        expect(d.complaints.length === 0, d.complaints.join("; "));
      } finally { await d.close(); }
    });
  }
  await check("a stranger judges a part", async () => {
    const d = await device(empty, { units: "in" });
    try {
      await d.go("/new/part");
      await d.page.fill("[name=title]", "Valve stem, inlet");
      await d.page.fill("[name=new_low]", "0.3135");
      await d.page.fill("[name=new_high]", "0.3140");
      await d.page.fill("[name=limit_low]", "0.3125");
      await d.page.click("main form button.go");
      await d.page.waitForURL(/\/read\//);
      await d.page.locator("input.reading").fill("0.3120");
      await d.page.locator("input.reading").press("Enter");
      await d.page.waitForFunction(() => /worn|out of limits/i.test(document.querySelector("#word h3, #word")?.textContent || ""));
    } finally { await d.close(); }
  });
}

// What is typed into forms stays what it says.
async function hostile() {
  await check("hostile titles stay titles", async () => {
    const d = await device(empty, { expected: ["422"] });
    try {
      const evil = ['" }\noperation "evil" {', "${evil} %{ if true }", "\\", "</title><script>alert(1)</script>"];
      for (const [i, title] of evil.entries()) {
        await d.go("/new/join");
        await d.page.fill("[name=engine]", `Evil ${i} ${title}`);
        await d.page.fill("[name=title]", `Join ${title}`);
        await d.page.fill("[name=part1]", title);
        await d.page.fill("[name=number1]", title);
        await d.page.fill("[name=look1]", title);
        await d.page.fill("[name=closes]", title);
        await d.page.fill("[name=inside]", "First " + title.replace(/\n/g, " "));
        await d.page.fill("[name=source]", title);
        await d.page.click("main form button.go");
        await d.page.waitForURL(/\/do\//, { timeout: 8000 }).catch(async () => { throw new Error(`${title}: ${await text(d.page, "#mistake")}`); });
        const shown = await text(d.page, "h1");
        expect(shown.includes(title.replace(/\s+/g, " ").trim()), `${title} is shown as ${shown}`);
        await d.go(new URL(d.page.url()).pathname.replace(/\/do\/.*/, ""));
        const next = await d.page.locator("#h-next ~ ol li, #h-next ~ * ol li").count();
        expect(next === 1, `${title} made ${next} operations that may be done now`);
      }
      expect(d.complaints.length === 0, d.complaints.join("; "));
    } finally { await d.close(); }
  });
}

// The moments at the bench, each within two taps of the job page.
async function moments() {
  for (const units of ["mm", "in"]) {
    await check(`moments 1 and 2 in two taps: may I close, what torque, ${units}`, async () => {
      const d = await device(demo, { units });
      try {
        const { page } = d;
        await d.go("/job/0412");
        let taps = 0;
        const tap = async (selector) => { taps++; await page.locator(selector).first().click(); await page.waitForLoadState("load"); };
        await tap("a.todo[href$='/do/pump_drive_in'], a.todo[href*='/do/']");
        expect((await page.locator("#h-lay").count()) === 1 && (await page.locator("#h-holds").count()) === 1, "the card has no laying-out list or no holds");
        expect(taps <= mostTaps, `${taps} taps`);
        // Of the card with a joint: the second tap is the wrench.
        await d.go("/job/0412/do/carrier_on/front");
        expect((await text(page, "#closes")).includes("left to do inside"), "what it hides is not said");
        await page.locator("a.rrow[href*='/wrench/']").first().click();
        const unit = await text(page, ".giant .unit");
        expect(unit === "N·m" || unit === "in-lb" || unit === "ft-lb", "no unit of a wrench: " + unit);
        const other = await text(page, ".giant .other");
        expect(/N·m|in-lb|ft-lb/.test(other) && !other.endsWith(unit), "the other unit is not shown: " + other);
        expect((await text(page, ".state")).toLowerCase().includes("thread locker"), "the state of the threads is not shown");
        expect((await page.locator("svg.pattern").count()) === 1, "no pattern is drawn");
        expect(!/\bNOK\b|\bOK\b/.test(await text(page)), "a lamp of a factory station");
      } finally { await d.close(); }
    });
  }
  await check("moment 5: whether the crank may be turned stands on every page of the job", async () => {
    const d = await device(demo);
    try {
      for (const p of ["", "/instruments", "/catchup", "/more"]) {
        await d.go("/job/0415" + p);
        expect(/The crank (may|must not) be turned/.test(await text(d.page, "#locks")), `it is not said on ${p || "the job page"}`);
      }
    } finally { await d.close(); }
  });
  await check("moment 8: a tap a flat, and a reload loses none", async () => {
    const d = await device(demo);
    try {
      const { page } = d;
      await d.go("/job/0412/flats/adjuster_flats/rear%20inlet");
      await changes(page, () => page.click("[data-anykey]"));
      for (let i = 1; i <= 3; i++) await changes(page, () => page.click("[data-anykey]"));
      expect((await text(page, ".giant .fig")) === "3", "three taps show " + (await text(page, ".giant .fig")));
      await page.reload();
      expect((await text(page, ".giant .fig")) === "3", "a reload lost a flat");
      expect((await text(page)).includes("Lifter preload"), "the preload is not shown");
      await d.context.setOffline(true);
      await page.click("[data-anykey]");
      await page.waitForFunction(() => document.querySelector(".giant .fig").textContent.trim() === "4");
      await page.click("[data-anykey]");
      await page.waitForFunction(() => document.querySelector(".giant .fig").textContent.trim() === "5");
      await again(page, () => d.context.setOffline(false));
      await d.go("/job/0412/flats/adjuster_flats/rear%20inlet");
      expect((await text(page, ".giant .fig")) === "5", "what was tapped without the computer did not arrive");
    } finally { await d.close(); }
  });
  await check("moment 15: the job page says where I was without a tap", async () => {
    const d = await device(demo);
    try {
      await d.go("/job/0412");
      const first = await d.page.evaluate(() => [...document.querySelectorAll("h2")].map((h) => h.textContent.trim()));
      expect(first.some((t) => t.startsWith("Next")), "no next step: " + first);
    } finally { await d.close(); }
  });
}

async function wrench() {
  const at = "/job/0418/wrench/case_perimeter";
  await check("at the wrench: let go early nothing, held one pass, any key one pass, reload the same pass", async () => {
    const d = await device(demo);
    const second = await device(demo);
    try {
      const { page } = d;
      await d.go(at);
      await second.go(at);
      const start = await text(page, "h1");
      const before = await seq(page);
      await down(page, "[data-hold]", 300);
      await page.waitForTimeout(300);
      expect((await seq(page)) === before, "a short touch wrote something");
      const live = second.page.waitForFunction((t) => document.querySelector("h1").innerText !== t, start);
      await hold(page);
      const began = Date.now();
      await live;
      measured(`the other device heard after ${Date.now() - began} ms`);
      expect((await text(page, "h1")) === "Pass 2 of 3", "after one press: " + (await text(page, "h1")));
      await page.reload();
      expect((await text(page, "h1")) === "Pass 2 of 3", "a reload changed the pass");
      await page.waitForTimeout(700);
      const two = await seq(page);
      await changes(page, async () => { await page.keyboard.press("PageDown"); await page.keyboard.press("PageDown"); });
      await page.waitForTimeout(500);
      expect((await seq(page)) === two + 1, "a clicker that bounced wrote twice");
      expect((await text(page, "h1")) === "Pass 3 of 3", "after the clicker: " + (await text(page, "h1")));
      // The last press was wrong: it is struck, and the pass is open again.
      await page.locator(".lastpress summary").click();
      await page.fill(".lastpress [name=why]", "the wrench slipped");
      await changes(page, () => page.click(".lastpress button"));
      expect((await text(page, "h1")) === "Pass 2 of 3", "after the strike: " + (await text(page, "h1")));
      expect(d.complaints.length === 0, d.complaints.join("; "));
    } finally { await d.close(); await second.close(); }
  });
  await check("at the wrench: the adapter is in the figure, and says so", async () => {
    const d = await device(demo);
    try {
      const { page } = d;
      await d.go("/job/0418/instruments?back=" + encodeURIComponent(at));
      await page.fill("[name=name]", "clicker with crow foot");
      await page.fill("[name=min]", "5");
      await page.fill("[name=max]", "60");
      await page.click("summary:has-text('adapter')");
      await page.fill("[name=arm]", "300");
      await page.fill("[name=offset]", "60");
      await page.click("text=Keep the wrench");
      await page.waitForURL(/\/wrench\//);
      await d.go(at + "?wrench=" + encodeURIComponent("clicker with crow foot"));
      // 12 N·m at the nut through 300 + 60 mm is 10 N·m on the wrench: statics.
      expect((await text(page, ".giant .fig")).replace("Set the wrench to", "").trim() === "10", "the figure is " + (await text(page, ".giant .fig")));
      expect((await text(page, ".adapter")).includes("12 N·m at the nut"), "the adapter is not said");
    } finally { await d.close(); }
  });
  await check("at the wrench: what is pressed without the computer is delivered once", async () => {
    const d = await device(demo, { expected: ["ERR_INTERNET_DISCONNECTED", "Failed to load", "htmx:sendError"] });
    try {
      const { page } = d;
      await d.go(at);
      const before = await seq(page);
      await d.context.setOffline(true);
      const passes = await text(page, "h1");
      await down(page, "[data-hold]", 1100);
      // The page goes on without the computer.
      await page.waitForFunction((t) => document.querySelector("h1").textContent.trim() !== t || document.querySelector(".held"), passes);
      await page.waitForFunction(() => /to send/.test(document.getElementById("outbox")?.innerText || ""));
      await again(page, () => d.context.setOffline(false));
      expect((await seq(page)) === before + 1, `${(await seq(page)) - before} entries instead of one`);
    } finally { await d.close(); }
  });
}

async function card() {
  const at = "/job/0418/do/lock_plates";
  await check("a card: note, done earlier, taken back, struck", async () => {
    const d = await device(demo);
    try {
      const { page } = d;
      await d.go("/job/0418");
      const link = await page.locator("a.todo[href*='/do/']").first().getAttribute("href");
      await d.go(link);
      await page.click("summary:has-text('Write a note')");
      await page.fill("[name=text]", "The old plate was cracked.");
      await changes(page, () => page.click("text=Keep the note"));
      expect((await text(page)).includes("The old plate was cracked."), "the note does not show");
      if (!(await page.locator("[data-hold]").count())) {
        await page.click(".anyway summary");
        expect(await page.locator(".anyway [name=why]").evaluate((e) => e.required), "going on anyway needs no reason");
        await page.fill(".anyway [name=why]", "A test of the way round");
        await changes(page, () => page.click(".anyway button.btn:not([name])"));
      } else {
        await page.click("#acts summary:has-text('Did it earlier')");
        await changes(page, () => page.click("#acts button[value='60 min']"));
        expect((await text(page)).includes("entered later"), "it is not marked as entered later");
      }
      expect((await text(page)).includes("Done "), "it does not say done");
      await page.click("summary:has-text('Take it back')");
      await page.fill("[name=note]", "Plate on the wrong way");
      await changes(page, () => page.click("text=It is taken apart again"));
      expect(!(await page.locator("h2:has-text('Done ')").count()), "it still says done");
      expect(d.complaints.length === 0, d.complaints.join("; "));
    } finally { await d.close(); }
  });
  await check("a card without scripts", async () => {
    const d = await device(demo, { javaScriptEnabled: false });
    try {
      const { page } = d;
      await d.go("/job/0412/do/dry_build_apart/rear");
      await page.locator("[data-hold]").click();
      await page.waitForLoadState("load");
      expect((await text(page)).includes("Done "), "a plain press did not write");
    } finally { await d.close(); }
  });
  await check("a card by keyboard: once arms, Escape drops, twice writes", async () => {
    const d = await device(demo);
    try {
      const { page } = d;
      await d.go("/job/0418/do/final_true");
      const before = await seq(page);
      await page.locator("[data-hold]").focus();
      await page.keyboard.press("Enter");
      expect((await text(page, "[data-hold]")).startsWith("Press again"), "once did not arm");
      await page.keyboard.press("Escape");
      expect((await text(page, "[data-hold]")).startsWith("Press and hold"), "Escape did not drop");
      expect((await seq(page)) === before, "arming wrote");
      await page.keyboard.press("Enter");
      await changes(page, () => page.keyboard.press("Enter"));
    } finally { await d.close(); }
  });
  await check("a swapped part: looks like, but is not", async () => {
    const d = await device(demo);
    try {
      await d.go("/job/0417/do/carrier_on/rear");
      expect((await text(d.page)).includes("but is not"), "the mirror image is not named");
    } finally { await d.close(); }
  });
  await check("never skipped is not offered", async () => {
    const d = await device(demo);
    try {
      await d.go("/job/0412/do/carrier_on/front");
      expect((await d.page.locator(".anyway").count()) === 0 && (await text(d.page)).includes("never skipped"), "close anyway is offered");
    } finally { await d.close(); }
  });
}

async function evening() {
  await check("catching up: two ticks, their times, entered later", async () => {
    const d = await device(demo);
    try {
      const { page } = d;
      await d.go("/job/0412/catchup");
      const boxes = page.locator(".caught [name=yes]");
      expect((await boxes.count()) >= 2, "there is nothing to tick");
      const first = await boxes.nth(0).getAttribute("value");
      await page.locator(".caught label.tick").nth(0).click();
      await page.locator(".caught label.tick").nth(1).click();
      await Promise.all([page.waitForNavigation({ waitUntil: "load" }), page.click("text=Enter what is ticked")]);
      const [kind, name] = first.split(" ")[0].split(".");
      if (kind === "operation") {
        await d.go(`/job/0412/do/${name}` + (first.includes(" ") ? "/" + encodeURIComponent(first.slice(first.indexOf(" ") + 1)) : ""));
        expect((await text(page)).includes("entered later"), "it is not marked as entered later");
      }
    } finally { await d.close(); }
  });
  await check("a first start: runs, stops for a reason, and is written", async () => {
    const d = await device(demo);
    try {
      const { page } = d;
      await d.go("/job/0412/start");
      await page.click("#runs");
      expect((await text(page, "#word")) === "PRESSURE?", "the word is " + (await text(page, "#word")));
      await page.waitForTimeout(1300);
      await page.click(".stopbtn >> nth=0");
      await page.waitForLoadState("load");
      await page.waitForFunction(() => /Run 1: \d+ s, stopped: No oil pressure/.test(document.querySelector("main").innerText));
    } finally { await d.close(); }
  });
  await check("a limit from a paper, struck again; what was done as my way", async () => {
    const d = await device(demo, { expected: ["422"] });
    try {
      const { page } = d;
      await d.go("/job/0418/figures?of=dimension.bore");
      await page.selectOption("[name=of] >> nth=-1", "dimension.bore");
      await page.selectOption("[name=attribute] >> nth=-1", "limit");
      await page.fill("[name=value] >> nth=-1", "ninety");
      await page.fill("[name=source] >> nth=-1", "piston maker's sheet");
      await page.click("text=It holds for this job");
      await page.waitForSelector("#mistake");
      await page.fill("[name=value] >> nth=-1", "<= 93.200 mm");
      await page.click("text=It holds for this job");
      await page.waitForLoadState("load");
      await page.waitForFunction(() => /piston maker's sheet/.test(document.querySelector("main").innerText));
      const own = await d.context.request.get(demo + "/job/0418/own.pack?id=mine");
      const pack = await own.text();
      expect(own.status() === 200 && pack.startsWith('pack "mine"') && pack.includes('"<= 93.200 mm"') && pack.includes("piston maker's sheet"), "the pack of the job does not hold the limit");
      expect(!/customer|Pell Street/.test(pack), "the pack tells of people");
    } finally { await d.close(); }
  });
}

async function modes() {
  await check("reduced motion, forced colours, print, 200 % zoom", async () => {
    const d = await device(demo, { reducedMotion: "reduce", forcedColors: "active", width: 640, height: 400, deviceScaleFactor: 2 });
    try {
      const { page } = d;
      for (const p of ["/job/0412/do/carrier_on/front", "/job/0412/wrench/head_nuts/front", "/new/join"]) {
        await d.go(p);
        expect((await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)) <= 0, p + " is too wide at 200 %");
      }
      await d.go("/job/0412/wrench/head_nuts/front");
      const box = await page.locator("[data-hold]").boundingBox();
      expect(box && box.y + box.height <= 400 && box.y >= 0, "the big button is hidden at 200 %");
      await d.go("/job/0412/card/carrier_on/front");
      await page.emulateMedia({ media: "print" });
      expect(!(await page.locator("nav.nav").isVisible()) && (await page.locator(".torques").isVisible()), "the card prints its navigation or no torques");
      if (shots) await page.pdf({ path: path.join(shots, "card.pdf"), format: "A4" });
    } finally { await d.close(); }
  });
}

async function made() { await looks(demo, pages, "act"); }

await run([[made], [stranger, hostile, modes], [moments, wrench, card, evening]]);
