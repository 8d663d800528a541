/* map.js - where nodes are, who hears whom, and each node's figures */
let chosenColour = 'delivery';
let allLinks = false;

/* What colours a node, from 0 to 1 of its scale; null: nothing to tell. */
function colourValue(node) {
  if (chosenColour === 'delivery') return node.measures.delivery;
  return chosenColour === 'load' ? node.sending : node.loss;
}

/* Delivery from 0 to 1; what is better small up to the largest there is. */
function colourScale(picture) {
  const most = d3.max(picture.nodes, colourValue);
  const end = chosenColour === 'delivery' ? 1 : Math.max(most || 0, 0.001);
  return (value) => cividis(chosenColour === 'delivery' ? value : 1 - value / end);
}

function describe(node) {
  const parts = [`${nodeWords(node)} (${{ bridge: 'bridge', relay: 'relay', other: 'neither relay nor bridge' }[kindOf(node)]})`];
  if (node.measures.delivery !== null)
    parts.push(`receives ${shown(node.measures.delivery, 'ratio')} of its messages (95 % interval ` +
      `${interval([node.measures.low, node.measures.high], 'ratio')})`);
  if (node.measures.from_delivery !== null)
    parts.push(`${shown(node.measures.from_delivery, 'ratio')} of what it sends arrives`);
  if (node.moves)
    parts.push(`moves along a way of ${shown(d3.sum(node.moves.legs_m), 'm')} at ` +
      `${shown(node.moves.speed_m_per_s, 'm/s')}${node.moves.back ? ', there and back' : ''}`);
  parts.push(`sends ${shown(node.sending, 'ratio')} of the time`);
  if (node.loss !== null) parts.push(`loses ${shown(node.loss, 'ratio')} of the frames within its reach`);
  return `${parts.join('; ')}.`;
}

const LABEL_WIDTH = 140;
const anchorAt = (x, width) => (x < LABEL_WIDTH / 2 ? 'start' : x > width - LABEL_WIDTH / 2 ? 'end' : 'middle');

function drawNodes(layer, picture, { x, y, width }) {
  const colour = colourScale(picture);
  return layer.selectAll('g.node').data(bySize(picture.nodes)).enter().append('g').attr('class', 'node')
    .attr('transform', (node) => `translate(${x(node.x_m)},${y(node.y_m)})`)
    .call((groups) => {
      groups.append('path').attr('class', 'ring').attr('d', nodeShape);
      groups.append('path').attr('d', nodeShape).attr('stroke', 'var(--ink)').attr('fill', (node) => {
        const value = colourValue(node);
        return value === null ? 'var(--paper)' : colour(value);
      });
      groups.append('title').text(describe);
      groups.append('text').attr('y', -12)
        .attr('text-anchor', (node) => anchorAt(x(node.x_m), width)).attr('class', 'halo')
        .text((node) => fitted(node.name, LABEL_WIDTH));
    });
}

/* The room that a name takes above its mark. */
function nameBox(node, { x, y, width }, k) {
  const its = textWidth(fitted(node.name, LABEL_WIDTH)) + 6;
  const left = { start: 0, middle: its / 2, end: its }[anchorAt(x(node.x_m), width)];
  const x0 = k * x(node.x_m) - left;
  const y0 = k * y(node.y_m) - 25;
  return { x0, x1: x0 + its, y0, y1: y0 + 16 };
}

/* Names, as many as have room: of bridges first, then of relays; these keep off others' marks
 * too, and a mark below a name has none.  From closer by there is room for more.  The boxes of those shown. */
function spaceNames(nodes, scales, k) {
  const markBox = (node) => {
    const [x, y] = [k * scales.x(node.x_m), k * scales.y(node.y_m)];
    return { x0: x - 7, x1: x + 7, y0: y - 7, y1: y + 7 };
  };
  const marks = nodes.data().map(markBox);
  const taken = [];
  const named = new Set();
  for (const node of nodes.data().slice().reverse()) {
    const box = nameBox(node, scales, k);
    const mark = markBox(node);
    if (taken.some((other) => overlap(other, box) || overlap(other, mark)) ||
        (kindOf(node) !== 'bridge' && marks.some((other) => overlap(other, box))))
      continue;
    taken.push(box);
    named.add(node.number);
  }
  nodes.select('text').attr('display', (node) => (named.has(node.number) ? null : 'none'));
  return taken;
}

function colourKey(picture) {
  const most = d3.max(picture.nodes, colourValue) || 0;
  const end = chosenColour === 'delivery' ? 1 : Math.max(most, 0.001);
  const steps = d3.range(0, 5).map((i) => i * end / 4);
  const scale = colourScale(picture);
  return key([
    ...steps.map((value) => ({
      text: shown(value, 'ratio'),
      draw: (svg) => svg.append('rect').attr('width', 28).attr('height', 16).attr('fill', scale(value)),
    })),
    ...['relay', 'bridge', 'other'].map((kind) => ({
      text: { relay: 'relay', bridge: 'bridge', other: 'other node (hollow: no message is addressed to it)' }[kind],
      draw: (svg) => svg.append('path').attr('transform', 'translate(14,8)').attr('fill', 'none')
        .attr('stroke', 'currentColor')
        .attr('d', d3.symbol().type(NODE_SHAPES[kind]).size(Math.min(70, NODE_SIZES[kind]))()),
    })),
    ...(picture.nodes.some((node) => node.moves) ? [{
      text: 'way of a node that moves (double arrow: there and back)',
      draw: (svg) => {
        svg.append('path').attr('class', 'way').attr('d', 'M0,8H28');
        svg.append('path').attr('class', 'way-arrow').attr('transform', 'translate(15,8)').attr('d', WAY_ARROWS.there);
      },
    }] : []),
    ...LINK_CLASSES.map((its) => ({
      text: its.name,
      draw: (svg) => svg.append('line').attr('x2', 28).attr('y1', 8).attr('y2', 8)
        .attr('stroke', 'currentColor').attr('stroke-width', its.width).attr('stroke-dasharray', its.dash),
    })),
  ]);
}

function mapTable(picture) {
  return table('Nodes', [
    { head: 'node', value: nodeWords },
    { head: 'gets', number: 'ratio', value: (node) => node.measures.delivery },
    { head: 'low', number: 'ratio', value: (node) => node.measures.low },
    { head: 'high', number: 'ratio', value: (node) => node.measures.high },
    { head: 'of pairs', number: '1', value: (node) => node.measures.pairs },
    { head: 'of its own arrive', number: 'ratio', value: (node) => node.measures.from_delivery },
    { head: 'sends', number: 'ratio', value: (node) => node.sending },
    { head: 'loses', number: 'ratio', value: (node) => node.loss },
  ], picture.nodes);
}

function colourControls(variant) {
  const set = el('fieldset', {}, el('legend', {}, 'Colour'));
  for (const [value, text] of Object.entries(WORDS.colours)) {
    const input = el('input', { type: 'radio', name: 'colour', value });
    input.checked = value === chosenColour;
    input.addEventListener('change', () => {
      chosenColour = value;
      drawMap(variant);
      document.querySelector(`input[name="colour"][value="${value}"]`).focus();
    });
    set.append(el('label', {}, input, text));
  }
  const box = el('input', { type: 'checkbox', id: 'all-links' });
  box.checked = allLinks;
  box.addEventListener('change', () => {
    allLinks = box.checked;
    drawMap(variant);
    document.getElementById('all-links').focus();
  });
  set.append(el('label', {}, box, 'all links'));
  return set;
}

/* Picks a node by name: a hundred marks would be a hundred stops of the tab key. */
function nodeChooser(picture) {
  const text = el('p', { id: 'map-node', 'aria-live': 'polite' }, 'Choose a node to see its figures.');
  const select = el('select', { id: 'map-choose', 'aria-label': 'Node' }, el('option', { value: '' }, 'a node …'));
  picture.nodes.forEach((node, i) => select.append(el('option', { value: i }, nodeWords(node))));
  select.addEventListener('change', () => {
    clear(text).append(select.value === '' ? '' : describe(picture.nodes[Number(select.value)]));
    d3.selectAll('#map g.node path').attr('stroke-width', (node) => (String(node.number) === select.value ? 4 : 1));
  });
  return el('div', {}, el('div', { class: 'controls' }, select), text);
}

function placesNote(picture) {
  const notes = [];
  if (DETAIL.places.blurred_m)
    notes.push(`To keep homes private, every place was moved by a random step of up to ${shown(DETAIL.places.blurred_m, 'm')}; ` +
      'margins are rounded to 10 dB, heights to 10 m. Coverage and the relief of the ground, which would give places ' +
      'away, are left out.');
  if (DETAIL.places.anonymous) notes.push('Names of nodes and bridges were replaced by numbers.');
  if (picture.detail.random_places)
    notes.push(`The map shows random places as drawn in run 1 of ${RESULT.replications}; each run draws them anew.`);
  if (RESULT.one_layout) notes.push('Random places are drawn once: all runs have the layout of the map.');
  if (picture.nodes.some((node) => node.moves))
    notes.push('Nodes that move are shown where they are at the start of a run; so are their links.');
  if (picture.detail.links.left_out > 0) notes.push(`${picture.detail.links.left_out} weaker links are not part of this page.`);
  return notes.map((note) => el('p', { class: 'note' }, note));
}

function drawMap(variant) {
  if (!DETAIL) return missing('map');
  const picture = pictureOf(variant);
  const scales = groundScales(picture);
  const svg = svgOf(scales.width, scales.height);
  svg.setAttribute('class', 'stage');
  const root = d3.select(svg);
  const layer = root.append('g');
  if (drawLayers(layer, picture, variant, scales)) {
    svg.classList.add('layered');
    drawLinks(layer, picture, scales, allLinks, 'casing');
  }
  drawLinks(layer, picture, scales, allLinks);
  const turn = drawWays(layer, picture, scales);
  const nodes = drawNodes(layer, picture, scales);
  const frame = frameOf(root, scales);
  const show = (zoom) => {
    nodes.attr('transform', (node) =>
      `translate(${scales.x(node.x_m)},${scales.y(node.y_m)}) scale(${1 / zoom.k})`);
    turn(zoom.k);
    frame(zoom, spaceNames(nodes, scales, zoom.k));
  };
  show(d3.zoomIdentity);
  const buttons = zoomable(svg, layer, show);
  const caption = `${VARIANTS[variant]}: ${picture.nodes.length} nodes, coloured by ` +
    `${WORDS.colours[chosenColour]}; lines are links without shadowing and fading, the better way of both.`;
  return fill('map', ...placesNote(picture), colourControls(variant), ...layerControls(picture, variant), colourKey(picture),
    ...coverageKey(picture), ...reliefNote(), figure('map', 'The mesh', caption, svg,
      el('div', {}, mapTable(picture), ...coverageTable(picture))), buttons, nodeChooser(picture));
}
