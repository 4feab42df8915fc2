// Accessibility, targets, widths, zoom: every page, light and dark.
import assert from "node:assert/strict";
import test from "node:test";
import { browser, folder, serve, watched } from "./run.mjs";
import { crowded, unfolded, violations } from "./seen.mjs";

const PAGES = [
  "/",
  "/new",
  "/stock",
  "/rules",
  "/rules/alginate-pour-by",
  "/sources",
  "/sources/checks",
  "/sources/coverage",
  "/sources/model",
  "/source/alginate/syneresis.strain",
  "/case/DEMO-01",
  "/case/DEMO-06",
  "/case/DEMO-01/clock",
  "/case/DEMO-31/clock",
  "/case/DEMO-01/facts",
  "/case/DEMO-31/inspect",
  "/case/DEMO-27/check",
  "/case/DEMO-01/prints",
  "/case/DEMO-01/print/card",
  "/case/DEMO-01/print/sheet",
  "/case/DEMO-01/source/die.diameter",
  "/print/pour",
  "/nowhere",
];

async function settled(page, url) {
  await page.goto(url);
  if (/\/case\/[A-Z]+-\d+$/.test(url)) {
    await page.getByText(/^From .*512 samples of each/).waitFor();
    await page.locator("#thickness").waitFor();
  }
  if (url.endsWith("/check")) await page.locator("#result h2").nth(1).waitFor();
  await unfolded(page);
}

for (const colorScheme of ["light", "dark"]) {
  test(`no violation that a checker knows, ${colorScheme}`, async (t) => {
    const server = await serve(t, folder(t));
    const page = await watched(t, await browser(t), server, { colorScheme, bypassCSP: true });
    const found = [];
    for (const address of PAGES) {
      await settled(page, server.url + address);
      for (const line of await violations(page)) found.push(`${address}: ${line}`);
    }
    assert.deepEqual(found, []);
  });
}

test("targets are large enough, and nothing is cut off at 768 and 1280 pixels and at twice the size", async (t) => {
  const server = await serve(t, folder(t));
  const opened = await browser(t);
  const wrong = [];
  // Twice the size on a screen is half the width in its own pixels.
  for (const width of [768, 1280, 640, 384]) {
    const page = await watched(t, opened, server, { viewport: { width, height: 900 } });
    for (const address of PAGES) {
      await settled(page, server.url + address);
      for (const line of await crowded(page)) wrong.push(`${width} ${address}: ${line}`);
    }
    await page.close();
  }
  assert.deepEqual(wrong, []);
});

test("the figures of the clock are read from a metre away", async (t) => {
  const server = await serve(t, folder(t));
  const page = await watched(t, await browser(t), server);
  await page.goto(`${server.url}/case/DEMO-01/clock`);
  const size = await page.locator("#count").evaluate((figure) => Number.parseFloat(getComputedStyle(figure).fontSize));
  assert.ok(size >= 54, `${size}`);
});
