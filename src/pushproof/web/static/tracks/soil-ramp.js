/* Made by scripts/make_soil_ramp.py from the ramp of the sheets; do not edit. */

export const IC_LOW = 1.0;
export const IC_HIGH = 4.2;
export const IC_STEP = 0.05;
export const BOUNDARIES = [1.31, 2.05, 2.6, 2.95, 3.6];
export const RAMP = ["#fdf6d8", "#fcf3d3", "#faf0ce", "#f9edc9", "#f7ebc4", "#f6e8bf", "#f4e5bb", "#f3e2b6", "#f1e0b1", "#f0ddac", "#eedaa7", "#edd8a2", "#ebd59d", "#ead298", "#e8d093", "#e7cd8e", "#e3ca8d", "#dfc78c", "#dbc48b", "#d7c18a", "#d3be88", "#cfbb87", "#cbb886", "#c8b685", "#c4b383", "#c0b082", "#bcad81", "#b8aa80", "#afa783", "#a6a385", "#9d9f88", "#949c8a", "#8b988d", "#84948d", "#7d908e", "#768c8f", "#6f898f", "#678590", "#608190", "#597d90", "#567a8f", "#53768d", "#4f738c", "#4c6f8a", "#496c89", "#466887", "#436586", "#3f6284", "#3c5e82", "#395b81", "#36577f", "#33547e", "#30517c", "#304d78", "#304a74", "#304671", "#30436d", "#2f3f69", "#2f3c65", "#2e3861", "#2e355e", "#2d325a", "#2c2e56", "#2c2b53", "#2b284f"];
/* In the order of the key: coarse to fine, then those that Ic alone does not tell. */
export const ORDER = [7, 6, 5, 4, 3, 2, 1, 8, 9];
export const ZONES = {
  "7": {
    "ic": 1.15,
    "hatch": "circles"
  },
  "6": {
    "ic": 1.75,
    "hatch": "dots"
  },
  "5": {
    "ic": 2.35,
    "hatch": "dots-dashes"
  },
  "4": {
    "ic": 2.78,
    "hatch": "dashes"
  },
  "3": {
    "ic": 3.25,
    "hatch": "lines"
  },
  "2": {
    "ic": 3.85,
    "hatch": "waves"
  },
  "1": {
    "ic": 3.4,
    "hatch": "broken"
  },
  "8": {
    "ic": 1.95,
    "hatch": "slashes-dots"
  },
  "9": {
    "ic": 2.65,
    "hatch": "slashes"
  }
};
