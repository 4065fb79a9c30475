// Backgrounds that only the reader switches on: an air photo that stands in the page, and pictures of online services.
// Nothing of this is kept: at every opening all are off, and no service is asked for anything.

const THIN_NEAR = 0.4; // share of their colour that areas keep over a background: near, where the ground is looked at,
const THIN_FAR = 0.6; // and from afar, where colours are told apart
const PATIENCE_MS = 10000; // how long a service may keep the map waiting before the page says so

const beneath = {}; // what is on, by id: its layer on the map, and the line that tells of failure
let creditBox = null;

/** Everything that can lie under the lots, the lowest first. */
function backgroundChoices() {
  const {photo, online} = data.background;
  const asked = (key, name, what) => online[key] && {
    id: key, name, credit: online[key].credit, host: online[key].host,
    means: `${what} Once switched on, the page asks ${online[key].host} for pictures of the part of the map that is looked at, and so tells it which part that is. Nothing else leaves the page.`,
    layer: () => tilesOf(online[key]),
  };
  return [
    asked("tiles", "Online map", "A map from the network."),
    asked("photo_tiles", "Online air photo", "The ground from the air, from the network."),
    photo && {
      id: "photo", name: "Air photo", credit: photo.credit,
      means: `The ground from the air, from ${photo.names.slice(0, 3).join(", ")}${photo.names.length > 3 ? ` and ${photo.names.length - 3} more` : ""}. It stands in this page: nothing is asked for.`,
      layer: () => L.imageOverlay(find("photo").textContent, photo.bounds, {pane: "beneath", alt: ""}),
    },
  ].filter(Boolean);
}

function tilesOf(service) {
  return L.tileLayer(service.address, {pane: "beneath", maxZoom: 22, maxNativeZoom: Math.min(service.deepest, 22), updateWhenZooming: false});
}

/** A pane for backgrounds: over the shaded relief, under slope, lots and all else. */
function beneathPane() {
  if (!map.getPane("beneath")) map.createPane("beneath").style.zIndex = 155;
}

function switchBackground(choice, on) {
  if (on) {
    beneathPane();
    const layer = choice.layer();
    beneath[choice.id] = {layer, fails: "", choice};
    if (choice.host) watchTiles(beneath[choice.id]);
    layer.setZIndex?.(10 + backgroundChoices().findIndex((one) => one.id === choice.id));
    layer.addTo(map);
  } else {
    const off = beneath[choice.id];
    delete beneath[choice.id];
    clearTimeout(off?.clock);
    off?.layer.remove();
  }
  drawCredits();
  changed("layers");
}

/** Tell calmly when a service's pictures do not come, and no longer once one does. */
function watchTiles(one) {
  const {host} = one.choice;
  let [came, failed] = [0, 0];
  const tell = (text) => {
    if (beneath[one.choice.id] !== one || one.fails === text) return;
    one.fails = text;
    drawCredits();
    if (text) say(text);
  };
  one.layer.on("loading", () => {
    [came, failed] = [0, 0];
    clearTimeout(one.clock);
    one.clock = setTimeout(() => came || failed || tell(`${host} has not answered so far.`), PATIENCE_MS);
  });
  one.layer.on("tileload", () => {
    one.came = true;
    came += 1;
    if (!failed) tell("");
  });
  one.layer.on("tileerror", () => (failed += 1));
  one.layer.on("load", () => {
    clearTimeout(one.clock);
    if (!failed) tell("");
    else tell(came ? `${host} gave no picture for part of the map.` : `${host} cannot be reached or has no pictures here.`);
  });
}

/** Whom to name for what is on, and what does not come. */
function drawCredits() {
  if (!creditBox) {
    creditBox = L.control({position: "bottomright"});
    creditBox.onAdd = () => make("div", {class: "map-credit", id: "map-credit"});
  }
  const shown = backgroundChoices().map((choice) => beneath[choice.id]).filter(Boolean);
  const lines = shown.flatMap((one) => [one.choice.credit && (one.came || !one.fails) ? make("p", {}, one.choice.credit) : null, one.fails ? make("p", {}, one.fails) : null]).filter(Boolean);
  creditBox.remove();
  if (!lines.length) return;
  creditBox.addTo(map);
  fill(creditBox.getContainer(), lines);
}

function backgroundRow(id, name, means, on, action) {
  const box = make("input", {type: "checkbox", id: `background-${id}`, autocomplete: "off", "aria-describedby": `background-${id}-means`, on: {change: () => action(box.checked)}});
  box.checked = on;
  return make("li", {}, box, make("div", {}, make("label", {for: box.id}, name), make("small", {id: `background-${id}-means`}, means)));
}

function makeBackgrounds() {
  const relief = backgroundRow("relief", "Shaded relief", "The ground as the elevation has it, lit from the north-west. It lies under all the others.", true, (on) => {
    const ground = window.image_overlay_ground;
    if (on) ground.addTo(map);
    else ground.remove();
  });
  const rows = backgroundChoices().map((choice) => backgroundRow(choice.id, choice.name, choice.means, false, (on) => switchBackground(choice, on)));
  return make("fieldset", {class: "backgrounds", id: "backgrounds"}, make("legend", {}, "Background"), make("ul", {class: "layers beneath"}, rows.reverse(), relief));
}

/** A pen that does some of its work thinly: only `share` of the colour is laid on. */
function thinPen(pen, share, methods) {
  const thinly = (name) => (...given) => {
    const full = pen.globalAlpha;
    pen.globalAlpha = full * share;
    pen[name](...given);
    pen.globalAlpha = full;
  };
  return new Proxy(pen, {
    get: (_, name) => methods.includes(name) ? thinly(name) : typeof pen[name] === "function" ? pen[name].bind(pen) : pen[name],
    set: (_, name, value) => {
      pen[name] = value;
      return true;
    },
  });
}

/** Over a background areas are thin, so that it is seen through them, and lot lines have a halo, so that they are seen. */
function drawnOver(id, draw) {
  const methods = id === "streets" ? ["stroke"] : ["fill", "fillRect"];
  return (pen, shapes, found, view) => {
    if (!Object.keys(beneath).length) {
      draw(pen, shapes, found, view);
      return;
    }
    if (id === "lots" && view.zoom >= 15) {
      const lines = new Paths();
      for (const lot of found) lines.add("", shapes, lot, view);
      pen.strokeStyle = colour("label-halo");
      pen.lineWidth = view.zoom >= 17 ? 3 : 1.5;
      lines.each((key, path) => pen.stroke(path));
    }
    draw(thinPen(pen, view.zoom >= 17 ? THIN_NEAR : THIN_FAR, methods), shapes, found, view);
  };
}

/** The size of print is new to a service: its pictures for it are waited for, though not for long. */
function printWithTiles(event) {
  const waited = Object.values(beneath).filter((one) => one.choice.host);
  if (!waited.length || document.body.classList.contains("printing")) return;
  event.stopImmediatePropagation();
  const before = [map.getCenter(), map.getZoom()];
  document.body.classList.add("printing");
  map.invalidateSize({pan: false});
  fitForPrint();
  const came = waited.map((one) => new Promise((done) => (one.layer.isLoading() ? one.layer.once("load", done) : done())));
  const late = new Promise((done) => setTimeout(done, PATIENCE_MS));
  Promise.race([Promise.all(came), late]).then(() => {
    window.addEventListener("afterprint", () => map.setView(...before, {animate: false}), {once: true});
    window.print();
  });
}

for (const layer of LAYERS) if (["lots", "catchments", "roof_pieces", "streets"].includes(layer.id)) layer.draw = drawnOver(layer.id, layer.draw);

when("tab", () => {
  if (find("backgrounds")) return;
  find("panel-layers").prepend(makeBackgrounds());
  find("print-button").addEventListener("click", printWithTiles);
});

window.addEventListener("pageshow", (event) => {
  if (!event.persisted) return; // back from the browser's memory counts as an opening
  for (const box of document.querySelectorAll("#backgrounds input:checked")) if (box.id !== "background-relief") box.click();
});
