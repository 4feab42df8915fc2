// Pictures of the real pages for the README: node pictures.mjs
import { mkdirSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { browser, serve } from "./run.mjs";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const after = [];
const t = { after: (work) => after.push(work) };
const path = mkdtempSync(join(tmpdir(), "trayward-pictures-"));
const folder = fileURLToPath(new URL("../docs/pictures/", import.meta.url));
mkdirSync(folder, { recursive: true });
const server = await serve(t, path);
const opened = await browser(t);
const shot = async (name, address, colorScheme, height, ready) => {
  const page = await opened.newPage({ viewport: { width: 900, height }, colorScheme });
  await page.goto(server.url + address);
  await ready(page);
  await page.evaluate(() => document.activeElement?.blur());
  await page.screenshot({ path: `${folder}${name}.png` });
  await page.close();
};
await shot("card", "/case/DEMO-01", "light", 1900, (page) => page.getByText(/4096 samples/).waitFor());
await shot("today", "/", "light", 980, (page) => page.locator("#queue").waitFor());
await shot("clock", "/case/DEMO-31/clock", "dark", 620, (page) => page.locator("#clock[data-ready]").waitFor());
for (const work of after.reverse()) await work();
rmSync(path, { recursive: true, force: true });
