// Reads WebVTT with webvtt-parser (npm, by the W3C's group) and prints what it found as JSON.
//
// vtt.js FILE...: for each file its errors, and its captions as start and end in ms and text. A name that ends in
// .chapters.vtt is read as a track of chapters.
const fs = require("fs");
const { WebVTTParser } = require("webvtt-parser");

const text = (node) => (node.type === "text" ? node.value : (node.children || []).map(text).join(""));
const ms = (seconds) => Math.round(seconds * 1000);

const read = process.argv.slice(2).map((path) => {
  const kind = path.endsWith(".chapters.vtt") ? "chapters" : "captions";
  const { cues, errors } = new WebVTTParser().parse(fs.readFileSync(path, "utf8"), kind);
  return {
    errors: errors.map((error) => `${error.line}:${error.col} ${error.message}`),
    captions: cues.map((cue) => [ms(cue.startTime), ms(cue.endTime), text(cue.tree)]),
  };
});
console.log(JSON.stringify(read));
