// The limits that the page judges itself, one function each: how a candidate stands, and whether it failed narrowly.

const [FINE, NOTE, TEST_SOIL, LOOK_CLOSER, RULES_OUT] = [0, 1, 2, 3, 4];

/** What the limits judged here depend on. */
function limitsOf(rule) {
  return {
    slopeLimit: rule("slope_limit_pct"), slopeLook: rule("slope_look_pct"), slopeError: 2.0 * rule("slope_error_pct"),
    least: rule("capture_depth_least_mm"), layers: (rule("ponding_depth_mm") + rule("mulch_mm") + rule("bed_depth_mm")) / 1000.0,
    water_table: rule("water_table_clearance_m"), bedrock: rule("bedrock_clearance_m"),
  };
}

function fallWeight(margin, error) {
  return margin < -2.0 * error - 1e-9 ? RULES_OUT : margin < -1e-9 ? LOOK_CLOSER : FINE;
}

function fallNear(margin, error) {
  return margin < -2.0 * error - 1e-9 && margin >= -3.0 * error;
}

function slopeWeight(slope, limits) {
  return slope > limits.slopeLimit + limits.slopeError ? RULES_OUT : slope > limits.slopeLimit ? LOOK_CLOSER : FINE;
}

function slopeNear(slope, limits) {
  return slope > limits.slopeLimit + limits.slopeError && slope <= limits.slopeLimit + 1.5 * limits.slopeError;
}

function slopeLookWeight(slope, limits) {
  return slope >= limits.slopeLook && slope <= limits.slopeLimit ? LOOK_CLOSER : FINE;
}

function heldWeight(held, most, least) {
  return !(held < least - 1e-6) ? FINE : most < least - 1e-6 ? RULES_OUT : LOOK_CLOSER;
}

function heldNear(held, most, least) {
  return held < least - 1e-6 && Math.max(held, most) >= 0.8 * least;
}

/** Depth from the ground at the spot down to the garden's bottom. [m] */
function bottomOf(ground, lip, limits) {
  return limits.layers + Math.max(ground - lip, 0.0);
}

function depthWeight(found, bottom, clearance) {
  return found < bottom ? RULES_OUT : found < bottom + clearance ? TEST_SOIL : FINE;
}

function depthNear(found, bottom) {
  return found >= bottom - 0.1;
}

/** How each limit stands at a candidate, by its code: {weight, near, measured, limit}. */
function liveLimits(i) {
  const c = candidateFigures();
  const {garden, rules: {limits}} = gardenUnderLimits(i);
  const needed = c.first.at(i, NEEDED);
  const [slope, error, ground, most] = [SLOPE, ERROR, GROUND, MOST].map((place) => c.compared.at(i, place));
  const depth = (name, place) => {
    const [found, bottom] = [c.compared.at(i, place), bottomOf(ground, garden.lip, limits)];
    return {weight: depthWeight(found, bottom, limits[name]), near: depthNear(found, bottom), measured: found, limit: bottom + limits[name]};
  };
  return {
    fall: {weight: fallWeight(garden.margin, error), near: fallNear(garden.margin, error), measured: garden.margin + needed, limit: needed},
    slope: {weight: slopeWeight(slope, limits), near: slopeNear(slope, limits), measured: slope, limit: limits.slopeLimit},
    slope_look: {weight: slopeLookWeight(slope, limits), near: false, measured: slope, limit: limits.slopeLook},
    under_minimum: {weight: heldWeight(garden.held, most, limits.least), near: heldNear(garden.held, most, limits.least), measured: garden.held, limit: limits.least},
    water_table: depth("water_table", WATER_TABLE),
    bedrock: depth("bedrock", BEDROCK),
  };
}

/** The words that the sentence of a limit judged here ends with. */
function liveDetail(code, i, found) {
  if (code === "fall") {
    if (found.weight === RULES_OUT) return gardenTried("fall_m", i) < 0 ? "Even the best place lies above the ground at the downspout." : "";
    return `That is within the error of the elevation (${fixed(2 * candidateFigure("fall_error_m", i), 2)}\u00a0m): take levels.`;
  }
  if (code !== "slope" || found.weight === RULES_OUT) return "";
  return `That is within the error of a slope (${fixed(2 * runRule("slope_error_pct"), 0)} points).`;
}
