// The main job by clicking: a case, its card, a what-if, a route, the clock, a warning, the inspection, the check.
import assert from "node:assert/strict";
import test from "node:test";
import { browser, folder, serve, watched } from "./run.mjs";

const done = (page) => page.locator("#done").innerText();
const say = (page) => page.locator("#say").innerText();
const strip = (page) => page.locator("#strip svg").getAttribute("aria-label");

test("a case from six taps to the check after pouring", async (t) => {
  const server = await serve(t, folder(t));
  const page = await watched(t, await browser(t), server);
  await page.goto(server.url);

  // Six taps, the room remembered.
  let taps = 0;
  const tap = async (target) => {
    taps += 1;
    await target.click();
  };
  await tap(page.getByRole("link", { name: "New case" }).last());
  await tap(page.getByLabel("crown", { exact: true }));
  await tap(page.getByLabel("36", { exact: true }));
  await tap(page.getByLabel("1 mm below"));
  await tap(page.getByLabel("damp, does not bleed"));
  await tap(page.getByRole("button", { name: "Make the card" }));
  assert.equal(taps, 6);
  await page.waitForURL(/\/case\/DEMO-0101$/);
  assert.match(await page.locator("h1").innerText(), /Crown on 36, margin 1\.0 mm below the gum/);
  assert.match(await say(page), /A usable result is (likely|unlikely)|Whether the result will be usable cannot be told/);
  // Nobody was asked about the heart: that stays in sight, and routes that depend on it are unranked.
  assert.match(await page.locator("#ask").innerText(), /questions of safety are not answered/);
  assert.match(await page.locator("#ask").innerText(), /pacemaker/);
  await page.getByText(/^From .*512 samples of each/).waitFor();
  assert.match(await page.locator("#sharpening").innerText(), /4096 samples/);

  // A wrong answer is said beside its field, and what else was answered stays.
  const heart = page.locator('#ask select[name="fact:patient.device"]');
  await heart.selectOption("none");
  const more = page.locator("#ask details summary");
  if (await more.count()) await more.first().click();
  await page.locator('#ask input[name="fact:patient.systolic"]').fill("1200");
  await page.getByRole("button", { name: "Keep these answers" }).click();
  await page.locator("#ask .wrong").getByText("allowed").waitFor();
  assert.equal(await heart.inputValue(), "none");
  await page.locator('#ask input[name="fact:patient.systolic"]').fill("125");
  await page.getByRole("button", { name: "Keep these answers" }).click();
  await page.locator('#ask select[name="fact:patient.device"]').waitFor({ state: "detached" });
  await page.getByText(/^From .*512 samples of each/).waitFor();

  // Another route from stock is chosen, and the card is of it.
  await page.locator("#routes details", { hasText: " more" }).first().locator("summary").first().click();
  await page.locator("li.route", { hasText: "polysulfide" }).first().getByRole("button", { name: "Choose" }).click();
  await page.waitForURL(/\/case\/DEMO-0101$/);
  await page.locator("#facts, #card").first().waitFor();
  await page.getByText(/^From .*512 samples of each/).waitFor();

  // The room becomes damp: polysulfide sets sooner, and the windows move while the hand is on the slider.
  const before = await strip(page);
  const humidity = page.getByLabel("Humidity of the room, by sliding");
  await humidity.focus();
  for (let step = 0; step < 12; step += 1) await page.keyboard.press("PageUp");
  await page.getByText("What if: situation.room_humidity").waitFor();
  await page.waitForFunction((old) => document.querySelector("#strip svg").getAttribute("aria-label") !== old, before);
  assert.notEqual(await strip(page), before);
  await page.getByText("Sharpened.").waitFor();
  // Nothing was recorded by it; stating it is.
  await page.getByRole("button", { name: "As stated" }).click();
  await page.getByText("As stated.", { exact: true }).waitFor();
  await page.reload();
  assert.equal(await page.locator('[name="fact:situation.room_humidity"]').inputValue(), "45 %");
  await page.locator('[name="fact:situation.room_humidity"]').fill("80 %");
  await page.getByRole("button", { name: "State this" }).click();
  await page.waitForURL(/\/case\/DEMO-0101$/);
  assert.equal(await page.locator('[name="fact:situation.room_humidity"]').inputValue(), "80 %");

  // The clock: a stamp, a stamp that was long ago, and the warning that it is too late.
  await page.getByRole("link", { name: "Run the clock" }).click();
  await page.locator("#clock[data-ready] #stamp button:enabled").waitFor();
  assert.match(await page.locator("#next").innerText(), /begin to mix/i);
  await page.locator("#stamp button").click();
  await page.getByText("begin to mix: kept").waitFor();
  assert.match(await done(page), /mix started/);
  assert.match(await page.locator("#count").innerText(), /^\d+:\d\d$/);
  await page.getByRole("button", { name: "Take back" }).click();
  await page.getByText("Nothing yet.").waitFor();
  await page.getByText("It happened earlier").click();
  await page.getByLabel("Step").nth(1).selectOption("mix started");
  await page.getByLabel("How long ago").fill("9 min ago");
  await page.getByRole("button", { name: "Stamp", exact: true }).click();
  await page.locator("#alerts").getByText("too late to seat the tray").waitFor();
  assert.match(await page.locator(".figure").getAttribute("class"), /late/);
  assert.match(await page.locator("#count-words").innerText(), /too late/);

  // A reading, counts, and the rest of the steps.
  await page.locator('form:has(input[value="tooth"]) input[type="number"]').fill("31");
  await page.locator('form:has(input[value="tooth"]) button').click();
  await page.waitForURL(/clock$/);
  await page.getByRole("button", { name: "one in" }).first().click();
  await page.waitForURL(/clock$/);
  await page.locator("#done").getByText("1 in, 0 out").waitFor();
  for (const step of ["seat the tray", "take it out"]) {
    await page.locator("#stamp button").click();
    await page.getByText(`${step}: kept`).waitFor();
    await page.waitForTimeout(750);
  }
  // A cord that is still in is a stop once the tray is out.
  await page.locator("#alerts").getByText("stop,").first().waitFor();
  await page.getByRole("button", { name: "one out" }).first().click();
  await page.locator("#done").getByText("1 in, 1 out").waitFor();

  // Inspected before anything else.
  await page.getByRole("link", { name: "Inspect", exact: true }).click();
  for (const choice of await page.getByLabel("not there", { exact: true }).all()) await choice.check();
  await page.getByRole("button", { name: "Record what was seen" }).click();
  await page.waitForURL(/inspect$/);
  assert.equal(await page.locator('input[value^="not found"]:checked').count(), await page.locator('input[value^="not found"]').count());

  await page.getByRole("link", { name: "Clock", exact: true }).click();
  for (const step of ["pour the stone", "separate the cast"]) {
    await page.locator("#clock[data-ready] #stamp button:enabled").waitFor();
    await page.locator("#stamp button").click();
    await page.getByText(`${step}: kept`).waitFor();
    await page.waitForTimeout(750);
  }
  await page.getByText("Every step is stamped or left out.").waitFor();

  // The check: a chipped margin is found, and the chance moves.
  await page.getByRole("link", { name: "Check", exact: true }).click();
  await page.locator("#result .named").first().waitFor();
  assert.match(await page.locator("#result").innerText(), /Look first/);
  await page.locator('input[value="die chipped margin"]').check();
  await page.getByRole("button", { name: "Record what was found" }).click();
  await page.waitForURL(/check$/);
  await page.locator("#result").getByText("with what was found").waitFor();
  const result = await page.locator("#result").innerText();
  assert.match(result, /chipped margin/);
  assert.match(result, /with what was found\s*\n?\s*unlikely/);
  // Nobody had looked after all: the finding is withdrawn.
  await page.locator("fieldset", { hasText: "chipped margin" }).getByLabel("not looked").check();
  await page.getByRole("button", { name: "Record what was found" }).click();
  await page.waitForURL(/check$/);
  await page.locator("#result").getByText("Look first").waitFor();
  // Every number leads to where it comes from.
  await page.locator("#result a.key").first().click();
  assert.match(await page.locator(".pedigree").innerText(), /source/);
});

test("today says what to pour first, and what a second pair of hands would save", async (t) => {
  const server = await serve(t, folder(t));
  const page = await watched(t, await browser(t), server);
  await page.goto(server.url);
  const order = async () => (await page.locator(".pours li a").allInnerTexts()).join(" ");
  assert.match(await order(), /^DEMO-31 DEMO-32 /);
  assert.match(await page.locator("#waiting").innerText(), /cannot all be begun in time/);
  assert.ok((await page.locator(".pours .chip.stop").count()) >= 1);
  await page.getByRole("link", { name: "With a second pair of hands" }).click();
  await page.getByText("Nothing is late in this order.").waitFor();
  assert.equal(await page.locator(".pours .chip.stop").count(), 0);
});

test("lots, the room, and the way to any number", async (t) => {
  const server = await serve(t, folder(t));
  const page = await watched(t, await browser(t), server);
  await page.goto(`${server.url}/stock`);
  assert.match(await page.locator("tr", { hasText: "S-118" }).innerText(), /expired/);
  await page.getByLabel("Product").selectOption({ label: "Demo Stone 4" }).catch(() => {});
  await page.getByLabel("Lot", { exact: true }).fill("S-200");
  await page.getByLabel("Until, such as").fill("2098-06");
  await page.getByRole("button", { name: "Onto the shelf" }).click();
  await page.locator("tr", { hasText: "S-200" }).waitFor();
  await page.locator("tr", { hasText: "S-118" }).getByRole("button").click();
  await page.waitForURL(/stock$/);
  assert.equal(await page.locator("tr", { hasText: "S-118" }).count(), 0);
  await page.goto(server.url);
  await page.getByLabel("Room, °C").fill("26.5");
  await page.getByRole("button", { name: "Remember" }).click();
  await page.getByText("Room: 26.5 °C").waitFor();
  await page.goto(`${server.url}/sources`);
  await page.getByLabel("Look for").fill("syneresis");
  await page.getByRole("button", { name: "Look" }).click();
  await page.getByRole("link", { name: "alginate/syneresis.strain", exact: true }).click();
  assert.match(await page.locator("main").innerText(), /grade/);
  for (const name of ["checks", "coverage", "model", "cautions"]) {
    await page.goto(`${server.url}/sources/${name}`);
    assert.ok((await page.locator("article.document").innerText()).length > 1000, name);
  }
});
