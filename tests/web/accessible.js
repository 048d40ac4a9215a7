/* What is wrong on a page for somebody with a keyboard, a screen reader, gloves or bad light. */
() => {
  const faults = [];
  const looked = { texts: 0, controls: 0, pictures: 0 };
  const all = (which) => [...document.querySelectorAll(which)];
  const tell = (one) => {
    const id = one.id ? `#${one.id}` : "";
    const kind = typeof one.className === "string" && one.className ? `.${one.className.split(" ").join(".")}` : "";
    return `${one.tagName.toLowerCase()}${id}${kind} "${(one.textContent ?? "").trim().slice(0, 30)}"`;
  };
  const seen = (one) => {
    if (!one.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true })) return false;
    const box = one.getBoundingClientRect();
    return box.width > 1 && box.height > 1;
  };
  const silent = (one) => one.closest("[aria-hidden=true]") !== null;
  const named = (one) => {
    const by = one.getAttribute("aria-labelledby");
    const parts = by ? by.split(" ").map((id) => document.getElementById(id)?.textContent ?? "") : [];
    const labels = one.labels ? [...one.labels].map((label) => label.textContent) : [];
    const own = one.matches("input, select, textarea") ? "" : one.textContent;
    const pictures = [...one.querySelectorAll("img[alt], svg[aria-label]")];
    const inner = pictures.map((each) => each.getAttribute("alt") ?? each.getAttribute("aria-label"));
    const words = [one.getAttribute("aria-label"), ...parts, ...labels, own, one.getAttribute("alt"), one.title, ...inner];
    return words.some((text) => (text ?? "").trim() !== "");
  };

  if (!document.documentElement.lang) faults.push("no language");
  if (!document.title.trim()) faults.push("no title");
  const mains = all("main, [role=main]").filter((one) => one.checkVisibility()).length;
  if (mains !== 1) faults.push(`${mains} main parts`);
  let before = 0;
  const headings = all("h1, h2, h3, h4, h5, h6").filter((one) => one.checkVisibility() && one.textContent.trim());
  for (const one of headings) {
    const level = Number(one.tagName[1]);
    if (level > before + 1) faults.push(`h${level} after h${before}: ${tell(one)}`);
    before = level;
  }
  if (headings.filter((one) => one.tagName === "H1").length !== 1) faults.push("not one h1");

  const roles = ["button", "slider", "link", "checkbox", "tab", "menuitem", "option", "switch"];
  const usable = ["a[href]", "button", "input:not([type=hidden])", "select", "textarea", "summary", ...roles.map((role) => `[role=${role}]`)];
  for (const one of all(usable.join(", "))) {
    if (!seen(one) && !one.matches("input")) continue;
    if (!one.checkVisibility() || silent(one) || one.matches(".skip-link:not(:focus)")) continue;
    looked.controls += 1;
    if (!named(one)) faults.push(`no name: ${tell(one)}`);
    if (!seen(one)) continue;
    const flows = one.matches("a") && getComputedStyle(one).display === "inline";
    const inText = flows && one.parentElement.textContent.trim().length > one.textContent.trim().length;
    const label = one.labels && [...one.labels].find((each) => each.contains(one));
    const box = (label ?? one).getBoundingClientRect();
    const moved = one.getAttribute("role") === "slider" && one.tagName !== "INPUT";
    const { width, height } = box;
    if (!inText && !moved && one.closest(".visually-hidden") === null && (height < 47.5 || width < 47.5)) {
      faults.push(`target ${Math.round(width)} x ${Math.round(height)}: ${tell(one)}`);
    }
  }
  for (const one of all("img, canvas, svg, [role=img]")) {
    if (!seen(one) || silent(one) || one.parentElement.closest("svg")) continue;
    looked.pictures += 1;
    const control = one.closest("button, a, [role=img], [role=slider], [role=application], [aria-label]");
    const title = one.tagName.toLowerCase() === "svg" && one.querySelector("title");
    if (!named(one) && !title && !(control && named(control))) faults.push(`no name: ${tell(one)}`);
  }

  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 1;
  const ink = canvas.getContext("2d", { willReadFrequently: true });
  /* any colour that the browser knows, as red, green, blue and opacity from 0 to 1 */
  const colour = (text) => {
    ink.clearRect(0, 0, 1, 1);
    ink.fillStyle = text;
    ink.fillRect(0, 0, 1, 1);
    const [r, g, b, a] = ink.getImageData(0, 0, 1, 1).data;
    return [r, g, b, a / 255];
  };
  const over = (top, base) => [0, 1, 2].map((k) => top[k] * top[3] + base[k] * (1 - top[3]));
  const light = (rgb) => {
    const part = rgb.map((v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4));
    return 0.2126 * part[0] + 0.7152 * part[1] + 0.0722 * part[2];
  };
  const ground = (one) => {
    const layers = [];
    for (let at = one; at; at = at.parentElement) {
      const style = getComputedStyle(at);
      if (style.backgroundImage !== "none") return null;
      const layer = colour(style.backgroundColor);
      if (layer[3] > 0) layers.push(layer);
      if (layer[3] === 1) break;
    }
    let found = [255, 255, 255];
    for (const layer of layers.reverse()) found = over(layer, found);
    return found;
  };
  /* text in a picture stands on what lies behind the picture */
  const inkOf = (one) => (one.closest("svg") ? getComputedStyle(one).fill : getComputedStyle(one).color);
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const told = new Set();
  while (texts.nextNode()) {
    const one = texts.currentNode.parentElement;
    if (!texts.currentNode.textContent.trim() || !seen(one) || one.closest("canvas, script, style, option, title")) continue;
    // what cannot be used now is told by its look too: WCAG 1.4.3 leaves it out
    if (one.closest(":disabled, [aria-disabled=true]") || one.closest(".visually-hidden")) continue;
    const base = ground(one);
    if (base === null) continue;
    looked.texts += 1;
    const style = getComputedStyle(one);
    const text = colour(inkOf(one));
    let opacity = 1;
    for (let at = one; at; at = at.parentElement) opacity *= Number(getComputedStyle(at).opacity);
    text[3] *= opacity;
    const [a, b] = [light(over(text, base)), light(base)];
    const contrast = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    const size = Number.parseFloat(style.fontSize);
    const large = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
    if (contrast < (large ? 3 : 4.5)) {
      const words = `contrast ${contrast.toFixed(2)}: ${tell(one)}`;
      if (!told.has(words)) faults.push(words);
      told.add(words);
    }
  }
  return { faults, looked };
}
