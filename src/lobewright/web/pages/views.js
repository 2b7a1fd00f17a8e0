// Which views there are, in the order in which they stand.
import * as begin from "./view_begin.js";
import * as compare from "./view_compare.js";
import * as life from "./view_life.js";
import * as load from "./view_load.js";
import * as made from "./view_made.js";
import * as motion from "./view_motion.js";
import * as solid from "./view_solid.js";
import * as teach from "./view_teach.js";

export const views = [motion, load, life, solid, compare, made, teach, begin];
