// Which views there are, in the order in which they stand.
import * as motion from "./view_motion.js";

export const views = [motion];
