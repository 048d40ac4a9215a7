/* Colours and type of the tracks, from the style sheet, so that a theme changes both alike. */

const NAMES = {
  ink: "--track-ink",
  softInk: "--track-soft-ink",
  paper: "--track-paper",
  grid: "--track-grid",
  gridMajor: "--track-grid-major",
  measured: "--track-measured",
  measuredFill: "--track-measured-fill",
  second: "--track-second",
  ratio: "--track-ratio",
  pore: "--track-pore",
  blows: "--track-blows",
  blowsFill: "--track-blows-fill",
  water: "--track-water",
  caution: "--track-caution",
  cautionFill: "--track-caution-fill",
  stop: "--track-stop",
  info: "--track-info",
  void: "--track-void",
  overlay: "--track-overlay",
  band: "--track-band",
  cursor: "--track-cursor",
};

export function readPalette(element) {
  const style = getComputedStyle(element);
  const palette = {};
  for (const [name, property] of Object.entries(NAMES)) {
    palette[name] = style.getPropertyValue(property).trim() || "#888888";
  }
  const family = style.fontFamily || "sans-serif";
  palette.font = `13px ${family}`;
  palette.smallFont = `12px ${family}`;
  palette.boldFont = `600 11px ${family}`;
  return palette;
}
