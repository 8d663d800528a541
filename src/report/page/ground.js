/* ground.js - the ground on which nodes stand: scales, axes, links, marks; for the map and the replay */
const GROUND = { least: 240, most: 640, margin: 48 };
/* On a phone all is smaller. */
const isNarrow = () => document.body.clientWidth < 600;
const groundWidth = () => Math.max(320, Math.min(1056, document.body.clientWidth - 32));

/* Where a node is, so long after the start of the run: docs/model.md, Nodes that move. */
function placeAt(node, at_s) {
  const { moves } = node;
  const there = moves ? d3.sum(moves.legs_m) : 0;
  if (!(there > 0)) return node;
  const gone = Math.max(0, at_s - moves.from_s) * moves.speed_m_per_s;
  /* Instants are told to microseconds, legs to seven digits. */
  const steps = moves.step_m * Math.floor(gone / moves.step_m + 1e-6);
  const folded = steps % (2 * there);
  let left = moves.back ? Math.min(folded, 2 * there - folded) : gone * (1 + 1e-6) >= there ? there : steps;
  let from = node;
  for (const [i, [x_m, y_m]] of moves.along.entries()) {
    const leg = moves.legs_m[i];
    if (left < leg)
      return { x_m: from.x_m + (x_m - from.x_m) * left / leg, y_m: from.y_m + (y_m - from.y_m) * left / leg };
    left -= leg;
    from = { x_m, y_m };
  }
  return from;
}

/* The corners of its way, its own place first. */
const wayOf = (node) => [[node.x_m, node.y_m], ...(node.moves ? node.moves.along : [])];

/* Ways of nodes that move, with arrows; `turn` keeps their size at any zoom. */
function drawWays(layer, picture, { x, y }) {
  const movers = picture.nodes.filter((node) => node.moves);
  layer.selectAll('path.way').data(movers).enter().append('path').attr('class', 'way')
    .attr('vector-effect', 'non-scaling-stroke')
    .attr('d', (node) => `M${wayOf(node).map(([a, b]) => `${x(a).toFixed(1)},${y(b).toFixed(1)}`).join('L')}`);
  const legs = movers.flatMap((node) => d3.pairs(wayOf(node))
    .map(([a, b]) => ({ a: [x(a[0]), y(a[1])], b: [x(b[0]), y(b[1])], back: node.moves.back })));
  const arrows = layer.selectAll('path.way-arrow').data(legs.filter(({ a, b }) => Math.hypot(b[0] - a[0], b[1] - a[1]) > 1))
    .enter().append('path').attr('class', 'way-arrow').attr('d', ({ back }) => (back ? WAY_ARROWS.both : WAY_ARROWS.there));
  return (k) => arrows.attr('transform', ({ a, b }) => {
    const degrees = Math.atan2(b[1] - a[1], b[0] - a[0]) * 180 / Math.PI;
    return `translate(${(a[0] + b[0]) / 2},${(a[1] + b[1]) / 2}) rotate(${degrees}) scale(${1 / k})`;
  });
}
const WAY_ARROWS = { there: 'M-5,-5L4,0L-5,5', both: 'M3,-5L11,0L3,5M-3,-5L-11,0L-3,5' };

/* The same metres both ways; as high as the mesh is, within bounds. */
function groundScales(picture) {
  const corners = picture.nodes.flatMap(wayOf);
  const xs = d3.extent(corners, ([x_m]) => x_m);
  const ys = d3.extent(corners, ([, y_m]) => y_m);
  const { margin } = GROUND;
  const width = groundWidth();
  const shape = (ys[1] - ys[0]) / Math.max(xs[1] - xs[0], 1);
  const height = Math.max(GROUND.least, Math.min(GROUND.most, (width - 2 * margin) * shape + 2 * margin + 30));
  const span = Math.max((xs[1] - xs[0]) / (width - 2 * margin), (ys[1] - ys[0]) / (height - 2 * margin),
    0.01);
  const middle = [(xs[0] + xs[1]) / 2, (ys[0] + ys[1]) / 2];
  return {
    x: d3.scaleLinear([middle[0] - span * width / 2, middle[0] + span * width / 2], [0, width]),
    y: d3.scaleLinear([middle[1] - span * height / 2, middle[1] + span * height / 2], [height, 0]),
    width,
    height,
  };
}

const kindOf = (node) => (node.bridge ? 'bridge' : node.relays ? 'relay' : 'other');
const NODE_SHAPES = { bridge: d3.symbolDiamond, relay: d3.symbolCircle, other: d3.symbolSquare };
const NODE_SIZES = { bridge: 190, relay: 130, other: 55 };
const nodeShape = (node) => d3.symbol().type(NODE_SHAPES[kindOf(node)])
  .size(NODE_SIZES[kindOf(node)] * (isNarrow() ? 0.5 : 1))();

/* Large marks lie on small ones. */
const bySize = (nodes) => nodes.slice().sort((a, b) => NODE_SIZES[kindOf(a)] - NODE_SIZES[kindOf(b)]);

const LINK_CLASSES = [
  { name: '20 dB or more above the sensitivity', least: 20, width: 2.2, dash: 'none' },
  { name: '10 to 20 dB', least: 10, width: 1.4, dash: 'none' },
  { name: '0 to 10 dB', least: 0, width: 1, dash: '4 3' },
];

const better = (link) => Math.max(
  link.margin_db === null ? -Infinity : link.margin_db,
  link.margin_back_db === null ? -Infinity : link.margin_back_db);

/* Between those that carry for others all; of the others the strongest: else nothing could be seen. */
function chosenLinks(picture, all) {
  const carries = (radio) => kindOf(nodeOf(picture, radio)) !== 'other';
  const heard = picture.links.filter((link) => better(link) >= 0);
  if (all) return heard;
  const best = new Map();
  for (const link of heard)
    for (const end of [link.from_radio, link.to_radio])
      if (!carries(end) && !(best.has(end) && better(best.get(end)) >= better(link))) best.set(end, link);
  const chosen = new Set(best.values());
  return heard.filter((link) =>
    chosen.has(link) || (carries(link.from_radio) && carries(link.to_radio)));
}

/* One path for each class: thousands of links stay light.  A casing below them keeps them off what lies under the map. */
function drawLinks(layer, picture, { x, y }, all, name = 'links') {
  const links = chosenLinks(picture, all);
  LINK_CLASSES.forEach((its, i) => {
    const most = i === 0 ? Infinity : LINK_CLASSES[i - 1].least;
    const d = links.filter((link) => better(link) >= its.least && better(link) < most).map((link) => {
      const a = nodeOf(picture, link.from_radio);
      const b = nodeOf(picture, link.to_radio);
      return `M${x(a.x_m).toFixed(1)},${y(a.y_m).toFixed(1)}L${x(b.x_m).toFixed(1)},${y(b.y_m).toFixed(1)}`;
    }).join('');
    layer.append('path').attr('d', d || null).attr('class', name)
      .attr('stroke-width', isNarrow() ? its.width / 3 : its.width)
      .attr('stroke-dasharray', its.dash).attr('vector-effect', 'non-scaling-stroke');
  });
}

/* A length of 1, 2 or 5 times a power of ten, about a fifth of the picture. */
function scaleBar(root, { x, height }) {
  const wanted = (x.domain()[1] - x.domain()[0]) / 5;
  const power = 10 ** Math.floor(Math.log10(wanted));
  const metres = [5, 2, 1].map((n) => n * power).find((n) => n <= wanted);
  const width = x(metres) - x(0);
  const bar = root.append('g').attr('transform', `translate(56,${height - 16})`);
  bar.append('path').attr('d', `M0,-6V0H${width}V-6`).attr('fill', 'none').attr('stroke', 'currentColor')
    .attr('stroke-width', 1.5);
  bar.append('text').attr('x', width / 2).attr('y', -6).attr('text-anchor', 'middle')
    .text(metres >= 1000 ? `${metres / 1000} km` : `${metres} m`);
}

const overlap = (a, b) => a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1;

/* North where places are of the earth; axes in metres where they are not.  What is `taken` by names has
 * no figures of an axis. */
function drawFrame(root, scales, taken = []) {
  scaleBar(root, scales);
  if (DETAIL.places.form === 'degrees') {
    const north = root.append('g').attr('transform', `translate(${scales.width - 30},40)`);
    north.append('path').attr('d', 'M0,-24L8,8L0,2L-8,8Z').attr('fill', 'currentColor');
    north.append('text').attr('y', 26).attr('text-anchor', 'middle').text('N');
    return;
  }
  const metres = (value) => d3.format(',')(value).replace(/,/g, '\u202f').replace('-', '−');
  const isHidden = (box) => taken.some((other) => overlap(other, box));
  const axis = (make, ticks, isOutside) => root.append('g').attr('class', 'axis')
    .call(make.ticks(ticks).tickSize(4).tickFormat(metres)).selectAll('.tick').filter(isOutside).remove();
  axis(d3.axisBottom(scales.x), scales.width / 140, (value) => {
    const [at, half] = [scales.x(value), textWidth(metres(value)) / 2 + 4];
    return at < 64 || at + half > scales.width || isHidden({ x0: at - half, x1: at + half, y0: 0, y1: 22 });
  });
  axis(d3.axisRight(scales.y), 5, (value) => {
    const at = scales.y(value);
    return at < 30 || at > scales.height - 10 ||
      isHidden({ x0: 0, x1: textWidth(metres(value)) + 12, y0: at - 9, y1: at + 9 });
  });
  root.append('text').attr('x', scales.width - 8).attr('y', scales.height - 10).attr('text-anchor', 'end')
    .attr('class', 'soft').text('x and y in metres');
}

/* Draws the frame for a zoom; `taken` as of drawFrame, of the whole map at that size. */
function frameOf(root, scales) {
  const frame = root.append('g').attr('class', 'frame');
  return (zoom, taken = []) => {
    frame.selectAll('*').remove();
    drawFrame(frame, { ...scales, x: zoom.rescaleX(scales.x), y: zoom.rescaleY(scales.y) }, taken.map((box) => ({
      x0: box.x0 + zoom.x, x1: box.x1 + zoom.x, y0: box.y0 + zoom.y, y1: box.y1 + zoom.y })));
  };
}

/* Zooms by wheel, fingers and buttons; marks keep their size. */
function zoomable(svg, layer, resize) {
  const zoom = d3.zoom().scaleExtent([1, 40]).on('zoom', function zoomed() {
    const transform = d3.event ? d3.event.transform : arguments[0].transform;
    layer.attr('transform', transform);
    resize(transform);
  });
  d3.select(svg).call(zoom).on('wheel.zoom', null).on('dblclick.zoom', null);
  const by = (factor) => () => d3.select(svg).call(zoom.scaleBy, factor);
  return el('div', { class: 'controls' },
    button('+', 'Closer', by(1.6)), button('−', 'Farther', by(1 / 1.6)),
    button('All', 'The whole map', () => d3.select(svg).call(zoom.transform, d3.zoomIdentity)));
}

function button(text, label, act, id) {
  const element = el('button', { type: 'button', 'aria-label': label, id }, text);
  element.addEventListener('click', act);
  return element;
}
