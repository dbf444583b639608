// Shows pages in headless Chromium (driven by playwright-core, npm) and prints what is seen as JSON.
//
// browser.js axe FILE...: the violations that axe-core (npm) finds in each page.
// browser.js print FILE A4|Letter: as Chromium prints it, to FILE.A4.pdf or FILE.Letter.pdf.
// browser.js phone FILE...: how wide each page is on a screen of 360 pixels.
// browser.js track WAV VTT MS...: what a <track> shows at each instant of the sound.
const fs = require("fs");
const path = require("path");
const { chromium } = require("playwright-core");

// Nothing is fetched: the one address that there is is answered from files.
const HERE = "http://boathouse.invalid/";

async function axe(browser, files) {
  const source = fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
  const found = [];
  for (const file of files) {
    const page = await browser.newPage();
    await page.goto("file://" + path.resolve(file));
    await page.evaluate(source);
    const { violations } = await page.evaluate(() => axe.run());
    found.push(violations.map((v) => `${v.id}: ${v.nodes.map((node) => node.html).join(" ")}`));
    await page.close();
  }
  return found;
}

async function print(browser, [file, format]) {
  const page = await browser.newPage();
  await page.goto("file://" + path.resolve(file));
  // By the page's own margins.
  await page.pdf({ path: `${file}.${format}.pdf`, format, preferCSSPageSize: false, margin: undefined });
  return `${file}.${format}.pdf`;
}

async function phone(browser, files) {
  const widths = [];
  for (const file of files) {
    const page = await browser.newPage({ viewport: { width: 360, height: 740 } });
    await page.goto("file://" + path.resolve(file));
    widths.push(await page.evaluate(() => document.documentElement.scrollWidth));
    await page.close();
  }
  return widths;
}

async function track(browser, [wav, vtt, ...times]) {
  const page = await browser.newPage();
  const answers = {
    "": { contentType: "text/html", body: '<!DOCTYPE html><audio controls><track kind="captions" src="vtt" default></audio>' },
    vtt: { contentType: "text/vtt", body: fs.readFileSync(vtt) },
    wav: { contentType: "audio/wav", body: fs.readFileSync(wav) },
  };
  await page.route("**/*", (route) => {
    const answer = answers[route.request().url().slice(HERE.length)];
    return answer ? route.fulfill(answer) : route.abort();
  });
  await page.goto(HERE);
  return page.evaluate(async (times) => {
    const audio = document.querySelector("audio");
    const element = document.querySelector("track");
    const until = (target, event) => new Promise((done) => target.addEventListener(event, done, { once: true }));
    const captions = element.track;
    captions.mode = "showing";
    if (element.readyState !== HTMLTrackElement.LOADED) await until(element, "load");
    // As a blob it can be sought in.
    const ready = until(audio, "loadeddata");
    audio.preload = "auto";
    audio.src = URL.createObjectURL(await (await fetch("wav")).blob());
    await ready;
    const shown = [];
    for (const time of times) {
      const sought = until(audio, "seeked");
      audio.currentTime = time / 1000;
      await sought;
      await new Promise(requestAnimationFrame);
      shown.push([...captions.activeCues].map((cue) => cue.getCueAsHTML().textContent).join("\n"));
    }
    return { length: Math.round(audio.duration * 1000), shown };
  }, times.map(Number));
}

async function main() {
  // What hangs is a fault, and is to be told.
  setTimeout(() => { console.error("not done within three minutes"); process.exit(1); }, 180_000).unref();
  const [what, ...rest] = process.argv.slice(2);
  const browser = await chromium.launch({
    executablePath: process.env.SIDEVOICE_CHROMIUM || "/usr/bin/chromium",
    // Root has no sandbox; a container has little shared memory.
    args: ["--no-sandbox", "--disable-dev-shm-usage"],
  });
  try {
    console.log(JSON.stringify(await { axe, print, phone, track }[what](browser, rest)));
  } finally {
    await browser.close();
  }
}

main().catch((error) => {
  console.error(error);
  process.exit(1);
});
