// Nothing that was pressed is lost, and the whole clock goes by keyboard alone.
import assert from "node:assert/strict";
import test from "node:test";
import { browser, folder, serve, watched } from "./run.mjs";

test("a reload and a restart of the program in the middle of a case lose nothing", async (t) => {
  const path = folder(t);
  const server = await serve(t, path);
  const page = await watched(t, await browser(t), server);
  await page.goto(`${server.url}/case/DEMO-01/clock`);
  await page.locator("#clock[data-ready] #stamp button:enabled").waitFor();
  await page.keyboard.press("Space");
  await page.getByText("begin to mix: kept").waitFor();
  await page.reload();
  await page.locator("#done").getByText("mix started").waitFor();

  // The program is gone, without a chance to write anything; the pedal is pressed all the same.
  server.child.kill("SIGKILL");
  await server.ended();
  await page.waitForTimeout(1200);
  const pressed = Date.now();
  await page.keyboard.press("Space");
  await page.getByText("NOT KEPT YET").waitFor();
  assert.match(await page.locator("#count").innerText(), /\d:\d\d/);
  // Even a reload that finds nothing keeps what was pressed in the browser.
  await page.waitForTimeout(2500);
  await serve(t, path, server.port);
  await page.getByText("seat the tray: kept").waitFor();
  await page.locator("#done").getByText("seated").waitFor();
  // Its moment is that of the press, not that of the return.
  const started = await page.evaluate(async () => (await (await fetch("/case/DEMO-01/clock.json")).json()).parts.find(([id]) => id === "done")[1]);
  const [, minutes, rest] = /seated.*?(\d+):(\d\d) from the start/s.exec(started.replace(/<[^>]+>/g, " "));
  assert.ok(Number(minutes) * 60 + Number(rest) <= (Date.now() - pressed) / 1000 + 12, `${minutes}:${rest}`);
  const stamps = started.match(/<dt>seated<\/dt>/g).length;
  assert.equal(stamps, 1);
});

test("two screens show the same case", async (t) => {
  const server = await serve(t, folder(t));
  const opened = await browser(t);
  const one = await watched(t, opened, server);
  const two = await watched(t, opened, server);
  await one.goto(`${server.url}/case/DEMO-01/clock`);
  await two.goto(`${server.url}/case/DEMO-01/clock`);
  await one.locator("#clock[data-ready] #stamp button:enabled").waitFor();
  await one.keyboard.press("Enter");
  await two.locator("#done").getByText("mix started").waitFor();
  // The same step pressed on both is one stamp, and whoever was second is told nothing is lost.
  await Promise.all([one.keyboard.press("Space"), two.keyboard.press("Space")]);
  await one.locator("#done").getByText("seated").waitFor();
  await two.locator("#done").getByText("seated").waitFor();
});

test("the whole clock by keyboard alone", async (t) => {
  const server = await serve(t, folder(t));
  const page = await watched(t, await browser(t), server);
  await page.goto(server.url);
  // To the case: Tab until its link has the focus.
  const tabTo = async (matches) => {
    for (let presses = 0; presses < 120; presses += 1) {
      await page.keyboard.press("Tab");
      if (await page.evaluate((source) => new RegExp(source).test(document.activeElement?.textContent ?? ""), matches)) return;
    }
    assert.fail(`Tab never comes to ${matches}`);
  };
  await tabTo("^DEMO-01");
  await page.keyboard.press("Enter");
  await page.waitForURL(/DEMO-01$/);
  await tabTo("^Run the clock");
  await page.keyboard.press("Enter");
  await page.waitForURL(/clock$/);
  await page.locator("#clock[data-ready] #stamp button:enabled").waitFor();
  // A foot switch is a keyboard: space, Enter, or the key that turns pages for those who have such a pedal.
  const keys = ["Space", "Enter", "PageDown", "Space", "Enter"];
  const steps = ["begin to mix", "seat the tray", "take it out", "pour the stone", "separate the cast"];
  for (const [place, step] of steps.entries()) {
    await page.keyboard.press(keys[place]);
    await page.getByText(`${step}: kept`).waitFor();
    await page.waitForTimeout(750);
  }
  await page.getByText("Every step is stamped or left out.").waitFor();
  await tabTo("^Take back");
  await page.keyboard.press("Enter");
  await page.waitForURL(/clock$/);
  await page.locator("#clock[data-ready] #stamp button:enabled").waitFor();
  assert.match(await page.locator("#next").innerText(), /separate the cast/i);
  // A foot that stays on the pedal presses once, and coming off it presses nothing.
  await page.waitForTimeout(800);
  await page.locator("#stamp button").focus();
  await page.keyboard.down("Space");
  for (let repeat = 0; repeat < 12; repeat += 1) {
    await page.keyboard.down("Space");
    await page.waitForTimeout(100);
  }
  await page.keyboard.up("Space");
  await page.getByText("Every step is stamped or left out.").waitFor();
  await page.getByRole("button", { name: "Take back" }).click();
  await page.getByText("taken back: \"separated\"").waitFor();
  await page.locator("#stamp button:enabled").waitFor();
  // A count by keyboard keeps the focus, so that the next press counts again and stamps nothing.
  await page.getByRole("button", { name: "one in" }).first().focus();
  await page.keyboard.press("Space");
  await page.locator("#counted").getByText("1 in, 0 out").waitFor();
  await page.keyboard.press("Space");
  await page.locator("#counted").getByText("2 in, 0 out").waitFor();
  assert.match(await page.locator("#next").innerText(), /separate the cast/i);
  // A pedal that bounces presses once.
  await page.waitForTimeout(800);
  await page.locator("#stamp button").focus();
  await page.keyboard.press("Space");
  await page.keyboard.press("Space");
  await page.getByText("Every step is stamped or left out.").waitFor();
});
