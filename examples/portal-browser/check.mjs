// Runs the page against a server of its own, in a browser, and holds what it shows against the figures in the
// project's README. Screenshots land in the folder that it prints.
import assert from "node:assert/strict";
import { execFile, spawn } from "node:child_process";
import { access, mkdir, mkdtemp, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { fileURLToPath, pathToFileURL } from "node:url";
import { promisify } from "node:util";
import { build } from "esbuild";
import { chromium } from "playwright-core";
import { serve } from "./serve.mjs";

const run = promisify(execFile);
const root = fileURLToPath(new URL("../..", import.meta.url));
const browserPath = process.env.CHROMIUM ?? "/usr/bin/chromium";
await access(browserPath).catch(() => {
  throw new Error(`a Chromium is needed at ${browserPath} (Debian: apt-get install chromium), or CHROMIUM says where`);
});

const work = await mkdtemp(join(tmpdir(), "evenfare-portal-"));
const shots = process.env.SCREENSHOTS ?? join(tmpdir(), "evenfare-portal-screenshots");
await mkdir(shots, { recursive: true });
const ends = [() => rm(work, { recursive: true, force: true })];
try {
  await check();
} finally {
  for (const end of ends.reverse()) await end();
}

async function check() {
  const { origin, token, url } = await world();
  const profile = join(work, "profile");
  const browser = await chromium.launchPersistentContext(profile, {
    executablePath: browserPath,
    headless: true,
    locale: "en-GB",
    viewport: { width: 1200, height: 900 },
    args: "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking --disable-component-update --disable-sync".split(" "),
  });
  ends.push(() => browser.close());
  const page = await browser.newPage();
  page.setDefaultTimeout(15_000);
  const broken = [];
  page.on("pageerror", (error) => broken.push(String(error)));
  page.on("console", (message) => {
    // A refused call is an HTTP status too, which the browser writes down by itself.
    if (message.type() === "error" && !message.text().startsWith("Failed to load resource")) broken.push(message.text());
  });
  await page.goto(`${origin}/?server=${encodeURIComponent(url)}`);

  await wrongToken(page);
  await page.getByLabel("Token").fill(token);
  await mistakes(page);
  await priced(page);
  await listed(page);
  await looks(page);
  await keyboard(page);

  assert.deepEqual(await page.evaluate(() => [localStorage.length, sessionStorage.length, document.cookie]), [0, 0, ""]);
  assert.deepEqual(broken, [], "the page broke");
  console.log(`portal-browser: all as it should be; screenshots in ${shots}`);
}

/** A store with the demo tariff, a server that allows the page, and a quote that the partner is on. */
async function world() {
  const { server: files, origin } = await serve(0);
  ends.push(() => new Promise((resolve) => (files.close(resolve), files.closeAllConnections())));
  await run("cargo", ["build", "--quiet", "--locked", "--bin", "evenfare"], { cwd: root });
  const metadata = await run("cargo", ["metadata", "--no-deps", "--locked", "--format-version", "1"], { cwd: root, maxBuffer: 1 << 26 });
  const program = join(JSON.parse(metadata.stdout).target_directory, "debug", "evenfare");
  const env = { ...process.env, NO_COLOR: "1", EVENFARE_DATABASE: join(work, "evenfare.db") };
  const evenfare = async (...args) => (await run(program, args, { cwd: root, env })).stdout;
  await evenfare("tariff", "publish", "examples/bakery/tariff");
  const caller = async (name, role) => JSON.parse(await evenfare("caller", "add", name, "--role", role, "--format", "json")).token;
  const [office, token] = [await caller("front-desk", "office"), await caller("portal-olom", "partner:P-OLOM")];

  const server = spawn(program, ["serve", "--listen", "127.0.0.1:0", "--allow-origin", origin], { env, stdio: ["ignore", "pipe", "pipe"] });
  const ended = new Promise((resolve) => server.once("exit", resolve));
  ends.push(() => (server.kill(), ended));
  let log = "";
  server.stderr.on("data", (text) => (log += text));
  const first = await Promise.race([
    new Promise((resolve) => createInterface(server.stdout).once("line", resolve)),
    ended.then((code) => Promise.reject(new Error(`the server ended with ${code}: ${log}`))),
  ]);
  const url = /^listening on (\S+)$/.exec(first)?.[1];
  assert.ok(url, `expected where the server listens, found ${first}`);
  await issue(url, office);
  return { origin, token, url };
}

/** The office issues a quote by the partner's route, over the same protocol as the page. */
async function issue(url, token) {
  const outfile = join(work, "office.mjs");
  const contents = `
    export { createClient } from "@connectrpc/connect";
    export { createGrpcWebTransport } from "@connectrpc/connect-web";
    export { OfficeService } from "./src/gen/evenfare/v1/office_service_pb";`;
  await build({ stdin: { contents, resolveDir: fileURLToPath(new URL(".", import.meta.url)) }, outfile, bundle: true, format: "esm", platform: "node" });
  const { createClient, createGrpcWebTransport, OfficeService } = await import(pathToFileURL(outfile).href);
  const office = createClient(OfficeService, createGrpcWebTransport({ baseUrl: url }));
  const job = {
    reference: "J-2026-0241",
    received: { year: 2026, month: 10, day: 5 },
    customer: { name: "Žitná Kôrka s.r.o.", vatId: "SK6332648410", business: true, postcode: "010 01", city: "Žilina", countryCode: "SK" },
    route: [{ partner: "P-BRZEG" }, { partner: "P-OLOM" }],
    units: [
      {
        family: "MIX-SP4",
        declaredValue: "2600",
        parcels: [{ lengthCm: "48", widthCm: "38", heightCm: "26", weightKg: "11.2" }],
        findings: [{ code: "DRV-SHORT" }],
      },
    ],
  };
  await office.issueQuote({ requestId: "own", job }, { headers: { authorization: `Bearer ${token}` } });
}

function price(page) {
  return page.getByRole("button", { name: "Price the job" }).click();
}

/** Whoever has no token that counts is told so beside the token. */
async function wrongToken(page) {
  await page.getByLabel("Token").fill("no-such-token");
  await price(page);
  const refusal = page.getByRole("alert");
  await refusal.waitFor();
  assert.match(await refusal.innerText(), /UNAUTHENTICATED/);
  assert.equal(await page.getByLabel("Token").getAttribute("aria-invalid"), "true");
}

/** Each mistake stands at the field that it is about, and its field is told to whoever hears the page. */
async function mistakes(page) {
  const value = page.getByLabel("Value to declare");
  const country = page.getByLabel("Country, two letters");
  await value.fill("26,00");
  await country.fill("sk");
  await price(page);
  await page.getByText("INVALID_ARGUMENT · INVALID_INPUT").waitFor();
  for (const [field, text] of [[value, /expected a price/], [country, /ISO 3166-1/]]) {
    assert.equal(await field.getAttribute("aria-invalid"), "true");
    const ids = (await field.getAttribute("aria-describedby")).trim().split(" ");
    const message = page.locator(`#${ids.at(-1)}`);
    assert.match(await message.innerText(), text);
    assert.ok(await message.evaluate((at, input) => at.closest(".field").contains(input), await field.elementHandle()));
  }
  assert.equal(await page.getByLabel("Token").getAttribute("aria-invalid"), null);
  await page.screenshot({ path: join(shots, "mistakes.png"), fullPage: true });
  await value.fill("2600");
  await country.fill("SK");
}

/** The figures of the project's README, for the second partner. */
async function priced(page) {
  await price(page);
  await page.getByRole("heading", { name: "Price of J-2026-0238" }).waitFor();
  const quote = page.locator("#quote");
  assert.equal(await quote.locator(".figure.end .amount").innerText(), "2,125.00 EUR");
  assert.equal(await quote.locator(".figure.pays .amount").innerText(), "1,858.39 EUR");
  assert.equal(await quote.locator(".figure.keeps .amount").innerText(), "266.61 EUR");
  const row = (name) => quote.getByRole("row", { name }).getByRole("cell").innerText();
  // Reverse charge: the customer is charged no VAT, and owes it himself.
  assert.equal(await row(/^VAT AE Reverse charge/), "0.00");
  assert.equal(await row(/^You charge your customer, with VAT/), "2,125.00");
  assert.equal(await row(/^VAT 23 % in his country owed by your customer/), "488.75");
  assert.ok(!(await quote.innerText()).includes("2,613.75"), "VAT that the customer owes is added to what he is charged");
  // The lines add up to the end price, to the last cent.
  const lines = await quote.locator("tr.line td").allInnerTexts();
  const cents = lines.map((text) => BigInt(text.replace(/[.,]/g, ""))).reduce((sum, line) => sum + line, 0n);
  assert.equal(cents, 212_500n);
  assert.match(await quote.locator(".warranty").innerText(), /Warranty until .*2027/);
  // What is not his to know is nowhere on the page.
  const text = (await page.locator("body").innerText()).replace(/[^\d.]/g, " ").replace(/ /g, "");
  for (const secret of ["1208.57", "346.53", "1555.10", "303.29"]) assert.ok(!text.includes(secret), `${secret} is shown`);

  // With nothing taken over he keeps less, and the end price stays.
  await page.getByLabel("All that your agreement credits").uncheck();
  await price(page);
  await page.waitForFunction(() => document.getElementById("status").textContent === "Priced.");
  assert.equal(await quote.locator(".figure.end .amount").innerText(), "2,125.00 EUR");
  assert.notEqual(await quote.locator(".figure.keeps .amount").innerText(), "266.61 EUR");
  await page.getByLabel("All that your agreement credits").check();
  await price(page);
  await page.getByText("266.61").first().waitFor();
}

async function listed(page) {
  await page.getByRole("button", { name: "Show", exact: true }).click();
  const number = page.getByRole("button", { name: "Q-2026-00001", exact: true });
  const row = await page.getByRole("row").filter({ has: number }).innerText();
  assert.match(row, /open/);
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "PDF of Q-2026-00001" }).click()]);
  assert.equal(download.suggestedFilename(), "Q-2026-00001-1-partner-P-OLOM-en.pdf");
  const sheet = await readFile(await download.path());
  assert.equal(sheet.subarray(0, 5).toString(), "%PDF-");
  await number.click();
  await page.getByRole("heading", { name: "Quote Q-2026-00001" }).waitFor();
  // The page shows the demo job again, for the screenshots.
  await price(page);
  await page.getByRole("heading", { name: "Price of J-2026-0238" }).waitFor();
}

/** Nothing runs out of the page, on a phone as on a desk, in the dark as by day. */
async function looks(page) {
  for (const [name, width, colorScheme] of [["wide", 1200, "light"], ["narrow", 360, "light"], ["wide-dark", 1200, "dark"], ["narrow-dark", 360, "dark"]]) {
    await page.setViewportSize({ width, height: 800 });
    await page.emulateMedia({ colorScheme });
    const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    assert.equal(over, 0, `the page is ${over} px too wide at ${width} px`);
    await page.screenshot({ path: join(shots, `${name}.png`), fullPage: true });
    await page.locator("#quote-title").evaluate((title) => title.scrollIntoView());
    await page.screenshot({ path: join(shots, `${name}-price.png`) });
  }
}

/** Every field has a name, and the form can be sent without a mouse. */
async function keyboard(page) {
  const nameless = await page.evaluate(() =>
    [...document.querySelectorAll("input, button")].filter((field) => {
      const label = field.getAttribute("aria-label") ?? field.labels?.[0]?.textContent ?? "";
      return !(label.trim() || field.textContent.trim());
    }).length,
  );
  assert.equal(nameless, 0);
  await page.getByLabel("Reference").fill("J-2026-0999");
  await page.getByLabel("Reference").press("Enter");
  await page.getByRole("heading", { name: "Price of J-2026-0999" }).waitFor();
  assert.equal(await page.evaluate(() => document.activeElement?.id), "quote-title");
}
