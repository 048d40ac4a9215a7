/* The depth tracks alone, for tests: window.view is the component, window.log what it shows. */

import { DepthTracks } from "/static/tracks/depth-tracks.js";
import { Rows, stripOf } from "/static/tracks/rows.js";

const words = (key, values = {}) => [key, ...Object.values(values)].join(" ");

window.told = { boundaries: [], picks: [], windows: 0, marks: [], findings: [], follow: [] };
window.Rows = Rows;
window.stripOf = stripOf;
window.view = new DepthTracks(document.getElementById("here"), {
  words,
  readAt: (depth) => window.readAt?.(depth) ?? null,
  onBoundary: (index, from, depth) => window.told.boundaries.push([index, from, depth]),
  onPick: (reading, track) => window.told.picks.push([reading?.depth ?? null, track]),
  onMark: (top, base) => window.told.marks.push([top, base]),
  onFindings: (numbers) => window.told.findings.push(numbers),
  onWindow: () => { window.told.windows += 1; },
  onFollow: (on) => window.told.follow.push(on),
});

window.showLog = (log) => {
  const strip = stripOf(log.window);
  window.view.setTracks(log.tracks, { rail: log.document.rail, marks: log.document.marks });
  window.view.axis.setEnds(log.document.low, log.document.high);
  window.view.axis.showAll();
  window.view.setSource({ strip: () => strip, soil: () => log.soil });
};

/** Live rows, as the push page gets them. */
window.startLive = (tracks, keys, span) => {
  const rows = new Rows(keys);
  window.rows = rows;
  window.view.setTracks(tracks);
  window.view.axis.setEnds(0, span);
  window.view.axis.show(0, span);
  window.view.setSource({ strip: (top, base, perPixel) => rows.strip(top, base, perPixel) });
  window.addRows = (block) => window.view.extend(rows.append(block));
};
window.ready = true;
