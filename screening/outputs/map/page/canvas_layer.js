// One canvas layer for everything that is drawn: tiles are painted as they come into view, and painted again in place
// when something changes.

const indexes = {};

function indexOf(table) {
  if (!indexes[table]) indexes[table] = new PlaceIndex(tables[table].shapes);
  return indexes[table];
}

const CHOSEN_FROM = 16; // zoom from which the chosen lot's own things are drawn
const REACH = 120; // pixels beyond the tile's edge that labels and points may reach in from

/** Between whole zooms the browser stretches tiles; the canvas is made as large as it will be seen, so that lines and
 *  letters keep their size and stay sharp. */
function paintTile(canvas, coords) {
  const size = 256 * map.getZoomScale(map.getZoom(), coords.z);
  const dots = window.devicePixelRatio || 1;
  canvas.width = Math.round(size * dots);
  canvas.height = Math.round(size * dots);
  const pen = canvas.getContext("2d");
  pen.scale(dots, dots);
  const view = {zoom: map.getZoom(), scale: size * 2 ** coords.z, left: coords.x * size, top: coords.y * size};
  const own = [view.left / view.scale, view.top / view.scale, (view.left + size) / view.scale, (view.top + size) / view.scale];
  const box = [
    (view.left - REACH) / view.scale, (view.top - REACH) / view.scale,
    (view.left + size + REACH) / view.scale, (view.top + size + REACH) / view.scale,
  ];
  for (const layer of LAYERS) {
    const table = tables[layer.table];
    if (!table || !table.shapes || !layerShown(layer)) continue;
    let found = [];
    if (view.zoom >= layer.from) found = indexOf(layer.table).within(...(layer.id === "lots" ? own : box));
    else if (layer.lot && chosen.lot !== null && view.zoom >= CHOSEN_FROM) found = rowsOf(layer.table, chosen.lot);
    if (found.length) layer.draw(pen, table.shapes, found, view);
    if (layer.id === "lots") drawChosen(pen, view);
  }
}

function makeCanvasLayer() {
  const CanvasLayer = L.GridLayer.extend({
    createTile(coords) {
      const canvas = L.DomUtil.create("canvas", "leaflet-tile");
      paintTile(canvas, coords);
      canvas.classList.add("leaflet-tile-loaded"); // it is: no frame need pass before it shows, in print too
      return canvas;
    },
    repaint() {
      this.waiting = 0;
      for (const tile of Object.values(this._tiles)) paintTile(tile.el, tile.coords);
    },
    /** In the next frame, once however often it is asked for: lists follow a slider without waiting for the map. */
    repaintSoon() {
      this.waiting = this.waiting || requestAnimationFrame(() => this.waiting && this.repaint());
    },
  });
  return new CanvasLayer({tileSize: 256, minZoom: 0, maxZoom: 22, keepBuffer: 1, updateWhenZooming: false});
}
