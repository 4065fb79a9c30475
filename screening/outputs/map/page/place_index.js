// Which shapes lie in a box: a uniform grid of buckets over the layer's own extent.

class PlaceIndex {
  constructor(shapes) {
    this.shapes = shapes;
    const boxes = shapes.boxes;
    this.west = Infinity;
    this.north = Infinity;
    let east = -Infinity;
    let south = -Infinity;
    for (let f = 0; f < shapes.n; f++) {
      if (boxes[4 * f] === Infinity) continue;
      this.west = Math.min(this.west, boxes[4 * f]);
      this.north = Math.min(this.north, boxes[4 * f + 1]);
      east = Math.max(east, boxes[4 * f + 2]);
      south = Math.max(south, boxes[4 * f + 3]);
    }
    this.side = Math.max(1, Math.min(256, Math.ceil(Math.sqrt(shapes.n / 2))));
    this.cellX = Math.max((east - this.west) / this.side, 1e-12);
    this.cellY = Math.max((south - this.north) / this.side, 1e-12);
    this.buckets = Array.from({length: this.side * this.side}, () => []);
    for (let f = 0; f < shapes.n; f++) {
      if (boxes[4 * f] === Infinity) continue;
      this.each(boxes[4 * f], boxes[4 * f + 1], boxes[4 * f + 2], boxes[4 * f + 3], (bucket) => bucket.push(f));
    }
    this.seen = new Uint32Array(shapes.n);
    this.turn = 0;
  }

  clampX(x) {
    return Math.max(0, Math.min(this.side - 1, Math.floor((x - this.west) / this.cellX)));
  }

  clampY(y) {
    return Math.max(0, Math.min(this.side - 1, Math.floor((y - this.north) / this.cellY)));
  }

  each(west, north, east, south, action) {
    for (let row = this.clampY(north); row <= this.clampY(south); row++) {
      for (let column = this.clampX(west); column <= this.clampX(east); column++) {
        action(this.buckets[row * this.side + column]);
      }
    }
  }

  /** Numbers of the shapes whose box meets the given one, in order. */
  within(west, north, east, south) {
    const out = [];
    const boxes = this.shapes.boxes;
    const turn = ++this.turn;
    this.each(west, north, east, south, (bucket) => {
      for (const f of bucket) {
        if (this.seen[f] === turn) continue;
        this.seen[f] = turn;
        if (boxes[4 * f] > east || boxes[4 * f + 2] < west) continue;
        if (boxes[4 * f + 1] > south || boxes[4 * f + 3] < north) continue;
        out.push(f);
      }
    });
    return out.sort((a, b) => a - b);
  }

  /** The first shape that holds a point, or is within `reach` of it (lines and points); -1 when none. */
  at(x, y, reach) {
    const near = this.within(x - reach, y - reach, x + reach, y + reach).reverse();
    for (const f of near) {
      if (this.shapes.kind === "polygon" ? inside(this.shapes, f, x, y) : distance(this.shapes, f, x, y) <= reach) return f;
    }
    return -1;
  }
}

/** Whether a point lies in a polygon; holes and parts by the even-odd rule. */
function inside(shapes, f, x, y) {
  let odd = false;
  for (let r = shapes.ringOf[f]; r < shapes.ringOf[f + 1]; r++) {
    const first = shapes.pointOf[r];
    const last = shapes.pointOf[r + 1];
    for (let p = first, q = last - 1; p < last; q = p++) {
      const yp = shapes.y[p];
      const yq = shapes.y[q];
      if (yp > y !== yq > y && x < shapes.x[p] + ((y - yp) / (yq - yp)) * (shapes.x[q] - shapes.x[p])) odd = !odd;
    }
  }
  return odd;
}

/** Distance from a point to a shape's lines or points. */
function distance(shapes, f, x, y) {
  let best = Infinity;
  for (let r = shapes.ringOf[f]; r < shapes.ringOf[f + 1]; r++) {
    const first = shapes.pointOf[r];
    const last = shapes.pointOf[r + 1];
    if (last - first === 1) best = Math.min(best, Math.hypot(shapes.x[first] - x, shapes.y[first] - y));
    for (let p = first; p + 1 < last; p++) {
      const dx = shapes.x[p + 1] - shapes.x[p];
      const dy = shapes.y[p + 1] - shapes.y[p];
      const along = ((x - shapes.x[p]) * dx + (y - shapes.y[p]) * dy) / (dx * dx + dy * dy || 1);
      const t = Math.max(0, Math.min(1, along));
      best = Math.min(best, Math.hypot(shapes.x[p] + t * dx - x, shapes.y[p] + t * dy - y));
    }
  }
  return best;
}
