// In front of a class: choose, turn, predict, reveal, freeze, and the same in a second browser by its link.
import assert from "node:assert/strict";
import test from "node:test";
import { browser, folder, serve, watched } from "./run.mjs";
import { crowded, violations } from "./seen.mjs";

const STATES = [
  "/class",
  "/class?material=alginate&water=28",
  "/class?material=alginate&water=28&hands.setting.less=12&say.working=less&reveal=yes",
  "/class?material=condensation-silicone&delay=1440&frozen=yes&was.delay=600&ask=no",
  "/class?material=polyether&sulcus=blood",
  "/class?material=agar&view=parts",
];

const tables = (page) => page.locator("#class-pictures table, #class-foresee table, #class-three table").evaluateAll((list) => list.map((table) => table.textContent));

test("a class: choose, turn, predict, reveal, freeze, and open the link elsewhere", async (t) => {
  const server = await serve(t, folder(t));
  const opened = await browser(t);
  const page = await watched(t, opened, server, { viewport: { width: 1280, height: 800 } });
  await page.goto(server.url);
  await page.getByRole("link", { name: "Class", exact: true }).click();
  await page.locator("#class[data-ready]").waitFor();
  await page.getByLabel("Material", { exact: true }).selectOption({ label: "extended-storage alginate" });
  await page.waitForURL(/material=extended-alginate/);
  await page.locator("#class[data-ready]").waitFor();

  // A knob is turned by keyboard: the number and the link follow, the focus stays, and the result is kept back.
  const cure = await page.locator("#class-cure table").textContent();
  const slide = page.getByLabel("Water of the mix, by sliding");
  await slide.focus();
  for (let step = 0; step < 4; step += 1) await page.keyboard.press("PageUp");
  await page.getByText("Say before it is shown").waitFor();
  assert.ok(await slide.evaluate((knob) => knob === document.activeElement));
  const water = await page.locator("#k-water").inputValue();
  assert.ok(Number(water) > 25, water);
  await page.waitForURL((url) => url.searchParams.get("water") === water);
  assert.equal(await page.locator("#class-cure table").textContent(), cure.replaceAll("now,", "usual,"));

  // Nothing is revealed before something is said.
  await page.getByRole("button", { name: "Reveal" }).click();
  await page.getByText("Say something first").waitFor();
  const setting = page.locator("#class-foresee fieldset", { hasText: "Setting time" });
  await setting.getByLabel("hands for shorter").fill("14");
  await setting.getByLabel("hands for longer").fill("2");
  await page.locator("#say-die-same").check();
  await page.getByRole("button", { name: "Reveal" }).click();
  await page.getByText("What was said, and what comes of it").waitFor();
  const row = page.locator("#class-foresee table.results tr", { hasText: "Setting time" });
  assert.match(await row.innerText(), /14 hands/);
  assert.match(await row.innerText(), /2 hands/);
  assert.match(await row.innerText(), /holds in \d+ %/);
  assert.match(await page.locator("#class-foresee table.results tr", { hasText: "Width of the stone die" }).innerText(), /✓ said/);
  assert.equal(await page.evaluate(() => document.activeElement.id), "class-came");
  assert.equal(await page.locator("#class-cure path.curve.held").count(), 1);
  assert.equal(await page.locator("#class-cure path.curve:not(.held)").count(), 1);

  // The same state in a second browser, by its link alone.
  const link = page.url();
  assert.match(link, /hands\.setting\.less=14/);
  const second = await watched(t, opened, server, { viewport: { width: 1280, height: 800 } });
  await second.goto(link);
  await second.locator("#class[data-ready]").waitFor();
  assert.deepEqual(await tables(second), await tables(page));

  // Frozen, the curve stays while the next knob turns, at once where the class wants it so.
  await page.getByRole("button", { name: "Freeze this" }).click();
  await page.waitForURL(/frozen=yes/);
  await page.getByRole("link", { name: "Show at once" }).click();
  await page.waitForURL(/ask=no/);
  await page.locator("#class[data-ready]").waitFor();
  const frozen = await page.locator("#class-strain table td").allTextContents();
  await page.locator("#k-wrap").focus();
  await page.locator("#k-wrap").selectOption("sealed humid");
  await page.getByText("Sharpened.", { exact: true }).waitFor();
  assert.ok(await page.locator("#k-wrap").evaluate((knob) => knob === document.activeElement));
  const both = await page.locator("#class-strain tbody tr").evaluateAll((rows) => rows.map((row) => [...row.querySelectorAll("td")].map((cell) => cell.textContent)));
  assert.deepEqual(both.map((cells) => cells[1]), frozen);
  assert.notDeepEqual(both.map((cells) => cells[0]), frozen);
  await page.locator("#class-strain").getByText("frozen", { exact: true }).first().waitFor();

  // What is refused is said beside its knob, and the curves to compare stay.
  await page.locator("#k-room").fill("70");
  await page.locator("#by-room").getByText("Refused").waitFor();
  assert.match(await page.locator("#by-room").innerText(), /10 to 40 °C/);
  await page.getByRole("button", { name: "Turn back" }).click();
  await page.waitForURL((url) => !url.searchParams.has("room"));
});

test("without scripts the same is done by forms and links", async (t) => {
  const server = await serve(t, folder(t));
  const opened = await browser(t);
  const page = await watched(t, opened, server, { javaScriptEnabled: false, viewport: { width: 1280, height: 800 } });
  await page.goto(`${server.url}/class?material=agar`);
  await page.locator("#k-bath").fill("40");
  await page.getByRole("button", { name: "Turn", exact: true }).click();
  await page.getByText("Say before it is shown").waitFor();
  await page.locator("#say-working-less").check();
  await page.getByRole("button", { name: "Reveal" }).click();
  await page.getByText("What was said, and what comes of it").waitFor();
  assert.match(page.url(), /bath=40.*say\.working=less.*reveal=yes/);
  await page.getByRole("button", { name: "Freeze this" }).click();
  await page.waitForURL(/frozen=yes&was.bath=40/);
});

for (const colorScheme of ["light", "dark"]) {
  test(`no violation that a checker knows, in class, ${colorScheme}`, async (t) => {
    const server = await serve(t, folder(t));
    const page = await watched(t, await browser(t), server, { colorScheme, bypassCSP: true, viewport: { width: 1280, height: 800 } });
    const found = [];
    for (const address of STATES) {
      await page.goto(server.url + address);
      await page.locator("#class[data-ready]").waitFor();
      await page.evaluate(() => document.querySelectorAll("details").forEach((closed) => { closed.open = true; }));
      for (const line of await violations(page)) found.push(`${address}: ${line}`);
    }
    assert.deepEqual(found, []);
  });
}

test("in class targets are large enough, letters are large, and nothing is cut off", async (t) => {
  const server = await serve(t, folder(t));
  const opened = await browser(t);
  const wrong = [];
  for (const width of [1280, 768, 640, 384]) {
    const page = await watched(t, opened, server, { viewport: { width, height: 800 } });
    for (const address of STATES) {
      await page.goto(server.url + address);
      await page.locator("#class[data-ready]").waitFor();
      const report = await page.evaluate(() => {
        const list = [];
        // Letters in the pictures, as they are on the screen: read from the back of a room with a projector.
        if (innerWidth >= 768) {
          for (const svg of document.querySelectorAll("#class .charts > div > figure[id^=class-]:not([id^=class-section]) svg, #class .charts > figure svg")) {
            const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
            if (scale * 15 < 13.5) list.push(`${svg.parentElement.id}: letters of ${(scale * 15).toFixed(1)} px`);
          }
        }
        // Words of a picture stay within it.
        for (const svg of document.querySelectorAll("#class-pictures figure[id^=class-] svg")) {
          const frame = svg.getBoundingClientRect();
          for (const text of svg.querySelectorAll("text")) {
            const box = text.getBoundingClientRect();
            if (box.left < frame.left - 2 || box.right > frame.right + 2) list.push(`${svg.parentElement.id}: "${text.textContent}" leaves the picture`);
          }
        }
        return list;
      });
      for (const line of [...(await crowded(page)), ...report]) wrong.push(`${width} ${address}: ${line}`);
    }
    await page.close();
  }
  assert.deepEqual(wrong, []);
});
