// Runs beside the notation library: takes a plan, gives back outlines. Every event is drawn at x = 0 on a staff whose
// top line is y = 0 and whose spaces are 10 high; the Python side decides where it goes.
'use strict';
const F = Vex.Flow;

// Stands in for a drawing surface: keeps what is drawn as path text, with its box.
class Recorder extends F.RenderContext {
  constructor() { super(); this.shapes = []; this.kind = 'sign'; this.head = -1; this.lineWidth = 1; this.begin(); }
  begin() { this.d = ''; this.l = this.t = Infinity; this.r = this.b = -Infinity; this.points = []; }
  see(x, y) {
    if (x < this.l) this.l = x;
    if (x > this.r) this.r = x;
    if (y < this.t) this.t = y;
    if (y > this.b) this.b = y;
  }
  keep() {
    if (this.d) this.shapes.push([this.kind, this.head, this.d, round(this.l), round(this.t), round(this.r), round(this.b)]);
    this.begin();
  }
  beginPath() { this.begin(); return this; }
  moveTo(x, y) { this.d += 'M' + at(x, y); this.pen = [x, y]; this.points.push([x, y]); return this; }
  lineTo(x, y) {
    this.d += 'L' + at(x, y);
    this.see(...this.pen); this.see(x, y);
    this.pen = [x, y]; this.points.push([x, y]);
    return this;
  }
  bezierCurveTo(a, b, c, d, x, y) {
    this.d += 'C' + at(a, b) + ' ' + at(c, d) + ' ' + at(x, y);
    for (let k = 0; k <= 4; k++) {
      const s = k / 4, u = 1 - s;
      this.see(u * u * u * this.pen[0] + 3 * u * u * s * a + 3 * u * s * s * c + s * s * s * x,
               u * u * u * this.pen[1] + 3 * u * u * s * b + 3 * u * s * s * d + s * s * s * y);
    }
    this.pen = [x, y];
    return this;
  }
  quadraticCurveTo(a, b, x, y) {
    const [px, py] = this.pen;
    return this.bezierCurveTo(px + (a - px) * 2 / 3, py + (b - py) * 2 / 3, x + (a - x) * 2 / 3, y + (b - y) * 2 / 3, x, y);
  }
  arc(x, y, radius) {  // whole circles only: the library draws nothing else with it
    const k = radius * 0.5523;
    this.moveTo(x + radius, y);
    this.bezierCurveTo(x + radius, y + k, x + k, y + radius, x, y + radius);
    this.bezierCurveTo(x - k, y + radius, x - radius, y + k, x - radius, y);
    this.bezierCurveTo(x - radius, y - k, x - k, y - radius, x, y - radius);
    return this.bezierCurveTo(x + k, y - radius, x + radius, y - k, x + radius, y);
  }
  closePath() { this.d += 'Z'; return this; }
  fill() { this.keep(); return this; }
  stroke() {  // straight level lines only: ledger lines
    const [from, to] = [this.points[0], this.points[this.points.length - 1]];
    this.begin();
    return this.fillRect(from[0], from[1] - this.lineWidth / 2, to[0] - from[0], this.lineWidth);
  }
  fillRect(x, y, w, h) {
    this.begin();
    this.moveTo(x, y).lineTo(x + w, y).lineTo(x + w, y + h).lineTo(x, y + h).closePath();
    this.keep();
    return this;
  }
  rect(x, y, w, h) { return this.moveTo(x, y).lineTo(x + w, y).lineTo(x + w, y + h).lineTo(x, y + h).closePath(); }
  setLineWidth(width) { this.lineWidth = width; return this; }
  measureText(text) { return { x: 0, y: 0, width: 6 * text.length, height: 10 }; }
  getFont() { return '10pt serif'; }
  openGroup() {} closeGroup() {} add() {} clear() {}
}
for (const name of ['setFillStyle', 'setBackgroundFillStyle', 'setStrokeStyle', 'setShadowColor', 'setShadowBlur',
  'setLineCap', 'setLineDash', 'scale', 'resize', 'clearRect', 'fillText', 'save', 'restore', 'setFont']) {
  Recorder.prototype[name] = function () { return this; };
}

function round(x) { return Math.round(x * 100) / 100; }
function at(x, y) { return round(x) + ' ' + round(y); }

function newStaff() {
  return new F.Stave(0, 0, 1000, { space_above_staff_ln: 0, left_bar: false, right_bar: false });
}

function noteOf(event) {
  const heads = event.keys.map((key, k) => event.heads[k] ? key + '/' + event.heads[k] : key);
  const note = new F.StaveNote({
    keys: heads, duration: event.duration + (event.rest ? 'r' : ''), dots: event.dots, clef: 'treble',
    stem_direction: event.stem, auto_stem: false,
  });
  if (event.beamed) note.beam = {};  // no flag, so dots stand close to the head
  (event.signs || []).forEach((sign, k) => { if (sign) note.addModifier(new F.Accidental(sign), k); });
  for (let dot = 0; dot < event.dots; dot++) F.Dot.buildAndAttach([note], { all: true });
  return note;
}

// One slot: the events of one or two voices that start together.
function drawSlot(events, staff) {
  const together = new F.ModifierContext();
  const tick = new F.TickContext();
  const notes = events.map(noteOf);
  notes.forEach((note, voice) => {
    note.setStave(staff);
    note.addToModifierContext(together);
    tick.addTickable(note, voice);
  });
  together.preFormat();
  tick.preFormat();
  tick.setX(0);
  tick.setX(-notes[0].getAbsoluteX());
  return notes.map((note, voice) => {
    const recorder = new Recorder();
    note.setContext(recorder);
    recorder.kind = 'ledger';
    note.drawLedgerLines();
    const begin = note.getNoteHeadBeginX();
    note._noteHeads.forEach((head, k) => {
      recorder.kind = note.isRest() ? 'rest' : 'head';
      recorder.head = k;
      head.setX(begin);
      head.setContext(recorder).draw();
      for (const modifier of note.getModifiers()) {
        if (modifier.checkIndex() !== k) continue;
        recorder.kind = modifier.getCategory() === 'Dot' ? 'dot' : 'accidental';
        modifier.setContext(recorder).drawWithStyle();
      }
    });
    return { shapes: recorder.shapes, stem_x: note.isRest() ? 0 : round(note.getStemX()), ys: note.getYs() };
  });
}

function drawModifier(modifier) {
  const recorder = new Recorder();
  const staff = newStaff();
  modifier.setStave(staff);
  modifier.setContext(recorder);
  modifier.setX(0);
  modifier.draw(staff, 0);
  return recorder.shapes;
}

function drawSigns(plan) {
  const staff = newStaff();
  staff.addClef('treble', 'default', '8vb');
  if (plan.key !== 'C') staff.addKeySignature(plan.key);
  if (plan.meter) staff.addTimeSignature(plan.meter);
  const recorder = new Recorder();
  staff.setContext(recorder);
  staff.format();
  const out = {};
  for (const modifier of staff.getModifiers()) {
    const kind = { Clef: 'clef', KeySignature: 'key', TimeSignature: 'time' }[modifier.getCategory()];
    if (!kind) continue;
    recorder.shapes = [];
    recorder.kind = kind;
    modifier.setContext(recorder);
    modifier.draw(staff, 0);
    out[kind] = recorder.shapes;
  }
  return out;
}

function drawGlyph(code, point) {
  const recorder = new Recorder();
  F.Glyph.renderGlyph(recorder, 0, 0, point, code);
  return recorder.shapes;
}

function draw(text) {
  const plan = JSON.parse(text);
  const staff = newStaff();
  return JSON.stringify({
    signs: drawSigns(plan),
    glyphs: plan.glyphs.map(([code, point]) => drawGlyph(code, point)),
    slots: plan.slots.map((events) => drawSlot(events, staff)),
  });
}
