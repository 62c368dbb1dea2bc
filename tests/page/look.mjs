// Opens each page as an operator would, at a desk and on a phone, and prints it: no accessibility fault, no word to the
// network, nothing wider than the screen, the right paper.
import { readFileSync, mkdtempSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import puppeteer from "puppeteer-core";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const screens = { desk: { width: 1280, height: 900 }, phone: { width: 390, height: 844 } };
const [out, ...pages] = process.argv.slice(2);
const profile = mkdtempSync(join(tmpdir(), "page-"));
const browser = await puppeteer.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  userDataDir: profile,
  protocolTimeout: 600_000,
  args: [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
  ],
});
let faults = 0;
const fault = (text) => { faults += 1; console.error(text); };

// Works the zoom and the filter, and says what does not do as an operator would expect; leaves the page filtered.
const tried = () => {
  const faults = [];
  const expect = (holds, why) => holds || faults.push(why);
  const plan = document.querySelector(".plan svg");
  const box = () => plan.getAttribute("viewBox");
  const press = (word) => [...document.querySelectorAll("button")].find((one) => one.textContent === word).click();
  if (plan) {
    const whole = box();
    press("Zoom in");
    expect(Number(box().split(" ")[2]) * 2 === Number(whole.split(" ")[2]), "zoom does not show half");
    window.dispatchEvent(new Event("beforeprint"));
    expect(box() === whole, "a zoomed plan prints in part");
    window.dispatchEvent(new Event("afterprint"));
    expect(box() !== whole, "printing ends the zoom");
    press("Whole");
    expect(box() === whole, "the plan does not come back whole");
  }
  const rows = [...document.querySelectorAll("table.measure tbody tr")];
  const field = document.querySelector("input[type=search]");
  if (rows.length > 0) {
    const name = rows.at(-1).cells[0].textContent;
    field.value = name;
    field.dispatchEvent(new Event("input"));
    const shown = rows.filter((row) => row.offsetHeight > 0);
    expect(shown.includes(rows.at(-1)) && shown.every((row) => row.textContent.includes(name)), "the filter misses");
  } else {
    expect(!field, "a filter of nothing");
  }
  return faults;
};

for (const file of pages) {
  const name = basename(file, ".html");
  const page = await browser.newPage();
  page.on("console", (message) => fault(`${name}: the browser says: ${message.text()}`));
  page.on("pageerror", (error) => fault(`${name}: ${error}`));
  page.on("request", (request) => request.url().startsWith("file:") || fault(`${name}: asks for ${request.url()}`));
  for (const [screen, size] of Object.entries(screens)) {
    await page.setViewport(size);
    await page.goto(pathToFileURL(resolve(file)).href);
    const wide = await page.evaluate("document.documentElement.scrollWidth");
    if (wide > size.width) fault(`${name} on a ${screen}: ${wide} pixels wide, the screen has ${size.width}`);
    const { violations } = await page.evaluate(`${axe}; axe.run()`);
    for (const { id, help, nodes } of violations) {
      fault(`${name} on a ${screen}: ${id}: ${help}\n    ${nodes.slice(0, 3).map((node) => node.html).join("\n    ")}`);
    }
    for (const why of await page.evaluate(`(${tried})()`)) fault(`${name} on a ${screen}: ${why}`);
    await page.screenshot({ path: join(out, `${name}-${screen}.png`), fullPage: true });
  }
  await page.emulateMediaType("print");
  const gone = "[...document.querySelectorAll('table.measure tbody tr')].filter((row) => row.offsetHeight === 0).length";
  if (await page.evaluate(gone)) fault(`${name}: a filtered table prints in part`);
  await page.pdf({ path: join(out, `${name}.pdf`), preferCSSPageSize: true, printBackground: false });
  await page.close();
}
await browser.close();
rmSync(profile, { recursive: true, force: true });
console.log(`${pages.length} pages looked at, ${faults} faults`);
process.exit(faults === 0 ? 0 : 1);
