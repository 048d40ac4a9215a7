/* The small plots of the proof page: rate, tilt and offset, origin. */

import { number, svg, text } from "/static/sounding/make.js";
import { say } from "/static/text/say.js";

const WIDTH = 260;
const HEIGHT = 180;
const LEFT = 34;
const BOTTOM = 22;

function plot(title, label) {
  const box = document.createElement("figure");
  box.className = "plot";
  const picture = svg("svg", { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-label": label });
  box.append(text("h2", "", title), picture);
  return { box, picture };
}

function frame(picture) {
  picture.append(svg("rect", {
    class: "frame", x: LEFT, y: 4, width: WIDTH - LEFT - 4, height: HEIGHT - BOTTOM - 4,
  }));
}

function letter(x, y, words, anchor = "middle") {
  const made = svg("text", { x, y, "text-anchor": anchor });
  made.textContent = words;
  return made;
}

export function ratePlot(rate) {
  const label = rate
    ? say("proof.rateLabel", { inside: number(rate.inside * 100, 0) })
    : say("proof.noRate");
  const { box, picture } = plot(say("proof.rate"), label);
  if (!rate) {
    box.append(text("p", "soft", label));
    picture.remove();
    return box;
  }
  const high = Math.max(20, Math.ceil(Math.max(...rate.shares) * 5) * 20);
  const x = (speed) => LEFT + (speed / 40) * (WIDTH - LEFT - 4);
  const y = (share) => 4 + (1 - (share * 100) / high) * (HEIGHT - BOTTOM - 4);
  picture.append(svg("rect", {
    class: "band", x: x(15), y: 4, width: x(25) - x(15), height: HEIGHT - BOTTOM - 4,
  }));
  rate.shares.forEach((share, k) => {
    if (share > 0) {
      const from = rate.edges[k];
      const inside = from >= 15 && from < 25;
      picture.append(svg("rect", {
        class: inside ? "bar" : "bar out",
        x: x(from) + 1, y: y(share), width: x(2.5) - x(0) - 2, height: y(0) - y(share),
      }));
    }
  });
  for (const speed of [0, 10, 20, 30, 40]) {
    picture.append(letter(x(speed), HEIGHT - 6, `${speed}`));
  }
  for (const share of [0, high / 2, high]) {
    picture.append(letter(LEFT - 4, y(share / 100) + 4, `${share}`, "end"));
  }
  frame(picture);
  box.append(text("p", "soft", label));
  return box;
}

export function depthPlot(title, depth, values, words) {
  const { box, picture } = plot(title, words);
  const high = nice(Math.max(...values, 0.1));
  const deep = nice(Math.max(...depth, 1));
  const x = (value) => LEFT + (value / high) * (WIDTH - LEFT - 4);
  const y = (z) => 4 + (z / deep) * (HEIGHT - BOTTOM - 4);
  for (const part of [0, 0.5, 1]) {
    picture.append(
      svg("line", { class: "grid", x1: LEFT, x2: WIDTH - 4, y1: y(part * deep), y2: y(part * deep) }),
      letter(LEFT - 4, y(part * deep) + 4, trim(part * deep), "end"),
      letter(x(part * high), HEIGHT - 6, trim(part * high), part === 1 ? "end" : "middle"),
    );
  }
  const points = depth.map((z, k) => `${x(values[k]).toFixed(1)},${y(z).toFixed(1)}`).join(" ");
  picture.append(svg("polyline", { class: "curve", points }));
  frame(picture);
  box.append(text("p", "soft", words));
  return box;
}

/* The end of an axis: close above the value, and half of it is a number to read. */
function nice(value) {
  const power = 10 ** Math.floor(Math.log10(value));
  return [1, 1.2, 1.6, 2, 2.4, 3, 4, 5, 6, 8, 10].map((step) => step * power).find((step) => step >= value * 0.999);
}

function trim(value) {
  return `${Math.round(value * 1000) / 1000}`;
}

export function originPlot(origin) {
  const box = document.createElement("div");
  box.className = "plot share";
  box.append(text("h2", "", say("proof.origin")));
  const items = document.createElement("ul");
  for (const one of origin) {
    const item = document.createElement("li");
    const words = `${number(one.share * 100, 0)} % ${one.trace}`;
    const bar = document.createElement("progress");
    bar.max = 1;
    bar.value = one.share;
    bar.setAttribute("aria-label", words);
    item.append(text("span", "", words), bar);
    items.append(item);
  }
  box.append(items);
  return box;
}
