/* layers.js - what lies under the map: the relief of the ground, and coverage by a carried radio */
const shownLayers = { relief: true, coverage: true };
let chosenBearer = null;

/* As detail-layers.c writes them: a hole, then from dark to light. */
const SHADES = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';

/* A picture with a pixel for each cell; `colourAt` gives red, green, blue and how opaque. */
function pictureOfCells(grid, cells, colourAt) {
  const canvas = el('canvas', { width: grid.columns, height: grid.rows });
  const context = canvas.getContext('2d');
  const pixels = context.createImageData(grid.columns, grid.rows);
  cells.forEach((cell, i) => pixels.data.set(colourAt(cell), 4 * i));
  context.putImageData(pixels, 0, 0);
  return canvas.toDataURL();
}

const cellsOf = (layer) => layer.runs.flatMap(([step, n]) => Array(n).fill(step));

/* Grey from the darkest to the lightest there is: gentle ground shows too, but not the noise of level ground. */
const DARKEST = 60;
const LIGHTEST = 245;
const LEAST_SHADES = 12;
function greysOf(shades) {
  const [low, high] = d3.extent(shades.filter((shade) => shade > 0));
  const middle = (low + high) / 2;
  const half = Math.max(high - low, LEAST_SHADES) / 2;
  const grey = d3.scaleLinear([middle - half, middle + half], [DARKEST, LIGHTEST]);
  return (shade) => (shade > 0 ? [grey(shade), grey(shade), grey(shade), 255] : [0, 0, 0, 0]);
}

/* Each is made once. */
const LAYER_PICTURES = new Map();
function layerPicture(layer, make) {
  if (!LAYER_PICTURES.has(layer)) LAYER_PICTURES.set(layer, make());
  return LAYER_PICTURES.get(layer);
}
const reliefPicture = (relief) => layerPicture(relief, () => {
  const shades = [...relief.shades].map((letter) => SHADES.indexOf(letter));
  return pictureOfCells(relief.grid, shades, greysOf(shades));
});
const coveragePicture = (grid, layer) => layerPicture(layer, () => pictureOfCells(grid, cellsOf(layer),
  (step) => ADDITIONS.steps[step].colour));

/* Lays a picture of cells over its corner on paper, and the ways along its edges. */
function drawLayer(map, { x, y }, name, grid, [corner, across, down], picture) {
  const [right, up] = [x(1) - x(0), y(1) - y(0)];
  const matrix = [across[0] * right / grid.columns, across[1] * up / grid.columns,
    down[0] * right / grid.rows, down[1] * up / grid.rows, x(corner[0]), y(corner[1])];
  map.append('image').attr('class', name).attr('href', picture).attr('width', grid.columns).attr('height', grid.rows)
    .attr('preserveAspectRatio', 'none').attr('transform', `matrix(${matrix.join(' ')})`);
}

/* The coverage that is shown: of the bearer that is chosen, if this variant has it. */
function coverageOf(picture) {
  const { coverage } = picture.detail;
  if (!coverage || coverage.layers.length === 0) return null;
  const layer = coverage.layers.find((its) => picture.detail.bearers[its.bearer].name === chosenBearer) || coverage.layers[0];
  return { ...coverage, layer, bearer: picture.detail.bearers[layer.bearer].name, name: picture.nodes[coverage.node].name };
}

/* Below all else; whether there is any. */
function drawLayers(map, picture, variant, scales) {
  const coverage = shownLayers.coverage ? coverageOf(picture) : null;
  const relief = shownLayers.relief ? DETAIL.relief : null;
  if (relief) drawLayer(map, scales, 'relief', relief.grid, ADDITIONS.layers.relief, reliefPicture(relief));
  if (coverage)
    drawLayer(map, scales, 'coverage', coverage.grid, ADDITIONS.layers.coverage[variant],
      coveragePicture(coverage.grid, coverage.layer));
  return Boolean(relief || coverage);
}

/* ---- what is said of them */

/* How many cells there are of each step. */
function stepCounts(layer) {
  const counts = ADDITIONS.steps.map(() => 0);
  for (const [step, n] of layer.runs) counts[step] += n;
  return counts;
}

function coverageKey(picture) {
  const coverage = shownLayers.coverage ? coverageOf(picture) : null;
  if (!coverage) return [];
  const counts = stepCounts(coverage.layer);
  const steps = ADDITIONS.steps.filter((step, i) => i > 0 || counts[0] > 0);
  return [el('p', { class: 'soft' }, `Coverage on ${coverage.bearer}: relays that hear the radio of ${coverage.name}, carried ` +
    `${shown(coverage.height_m, 'm')} above the ground, and are heard by it. Cells of ${shown(coverage.grid.cell_m, 'm')}, ` +
    'without shadowing and fading; a prediction, no promise that a message gets through.'),
  key(steps.map(({ colour, words }) => ({
    text: words,
    draw: (svg) => svg.append('rect').attr('class', 'coverage').attr('width', 28).attr('height', 16)
      .attr('fill', `rgba(${colour.join(',')})`).attr('stroke', colour[3] === 0 ? 'currentColor' : 'none'),
  })))];
}

function reliefNote() {
  if (!DETAIL.relief || !shownLayers.relief) return [];
  const { elevation, grid } = DETAIL.relief;
  return [el('p', { class: 'soft' }, `Relief: ${elevation || 'the height model'} in light from the north-west, in steps of ` +
    `${shown(grid.cell_m, 'm')}. Before you trust a height model, ask whether it is of bare earth or has woods and roofs, ` +
    'how old it is, how fine, and where it ends.')];
}

/* Shares of the cells that were judged, and how many were not. */
function coverageTable(picture) {
  const coverage = coverageOf(picture);
  if (!coverage) return [];
  const counts = stepCounts(coverage.layer);
  const judged = d3.sum(counts.slice(1));
  return [table(`Coverage on ${coverage.bearer}: shares of ${judged} cells`, [
    { head: 'relays both ways', value: (row) => row.words },
    { head: 'share of the area', number: 'ratio', value: (row) => row.share },
  ], ADDITIONS.steps.map(({ words }, i) => ({ words, share: judged > 0 ? counts[i] / judged : null })).slice(1))];
}

/* ---- switches */

/* What is drawn anew keeps the focus. */
function layerSwitch(id, text, isOn, change, variant, type = 'checkbox') {
  const input = el('input', { type, id, name: type === 'radio' ? 'coverage-bearer' : null });
  input.checked = isOn;
  input.addEventListener('change', () => {
    change(input.checked);
    drawMap(variant);
    document.getElementById(id).focus();
  });
  return el('label', {}, input, text);
}

function layerControls(picture, variant) {
  const coverage = coverageOf(picture);
  if (!coverage && !DETAIL.relief) return [];
  const set = el('fieldset', {}, el('legend', {}, 'Under the map'));
  if (DETAIL.relief)
    set.append(layerSwitch('show-relief', 'relief of the ground', shownLayers.relief,
      (isOn) => { shownLayers.relief = isOn; }, variant));
  if (coverage)
    set.append(layerSwitch('show-coverage', 'coverage', shownLayers.coverage,
      (isOn) => { shownLayers.coverage = isOn; }, variant));
  if (coverage && shownLayers.coverage && coverage.layers.length > 1)
    coverage.layers.forEach((layer, i) => {
      const { name } = picture.detail.bearers[layer.bearer];
      set.append(layerSwitch(`coverage-${i}`, `on ${name}`, name === coverage.bearer,
        () => { chosenBearer = name; }, variant, 'radio'));
    });
  return [set];
}
