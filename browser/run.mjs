// Starts the program and a browser for the tests.
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

const root = fileURLToPath(new URL("..", import.meta.url));
const program = process.env.TRAYWARD ?? join(root, "target/debug/trayward");

/** A folder that is gone at the end. */
export function folder(t) {
  const path = mkdtempSync(join(tmpdir(), "trayward-"));
  t.after(() => rmSync(path, { recursive: true, force: true }));
  return path;
}

/** Serves the demo scenario from a store in `path`; ends with the test. */
export async function serve(t, path, port = 0, more = ["--demo"]) {
  if (!existsSync(program)) throw new Error(`${program} is not there: cargo build first`);
  const child = spawn(program, ["serve", ...more, "--no-browser", "--listen", `127.0.0.1:${port}`, "--store", join(path, "records.sqlite")], {
    stdio: ["ignore", "pipe", "inherit"],
    env: { ...process.env, TZ: "Europe/Vienna" },
  });
  t.after(() => child.kill("SIGKILL"));
  const address = await new Promise((found, failed) => {
    let said = "";
    child.stdout.on("data", (data) => {
      said += data;
      const match = /Pages: http:\/\/127\.0\.0\.1:(\d+)\//.exec(said);
      if (match) found(Number(match[1]));
    });
    child.on("exit", () => failed(new Error(`the program ended: ${said}`)));
  });
  return {
    child,
    port: address,
    url: `http://127.0.0.1:${address}`,
    ended: () => new Promise((over) => (child.exitCode !== null || child.signalCode !== null ? over() : child.once("exit", over))),
  };
}

/** A browser; ends with the test. */
export async function browser(t) {
  const opened = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
  });
  t.after(() => opened.close());
  return opened;
}

/** A page that fails the test when a script of it fails or something is fetched from elsewhere. */
export async function watched(t, opened, server, options = {}) {
  const context = await opened.newContext({ viewport: { width: 768, height: 1024 }, locale: "en-GB", ...options });
  const page = await context.newPage();
  const wrong = [];
  page.on("pageerror", (error) => wrong.push(String(error)));
  page.on("request", (request) => {
    const address = request.url();
    if (!address.startsWith(server.url) && !address.startsWith("data:")) wrong.push(`asks ${address}`);
  });
  t.after(() => {
    if (wrong.length) throw new Error(wrong.join("\n"));
  });
  return page;
}
