/* replay.js - plays the way of one message on the ground */
const STEP_MS = 900;
const player = { variant: 0, message: 0, at: 0, timer: null, steps: [], stage: null, places: [] };

function replaysOf(variant) {
  return DETAIL.messages.map((message, i) => ({ message, i, replay: DETAIL.variants[variant].replay[i] }));
}

/* What is known after the first `n` steps. */
function stateAt(steps, n) {
  const state = { has: new Set(), down: new Set(), sending: null, frame: null, ended: false };
  for (const step of steps.slice(0, n)) {
    if (step.kind === 'down') state.down.add(step.node);
    if (step.kind === 'up') state.down.delete(step.node);
    if (step.kind === 'offered' || step.kind === 'delivered') state.has.add(step.node);
    if (step.kind === 'start' || step.kind === 'end') {
      state.frame = step.frame;
      state.ended = step.kind === 'end';
      state.sending = step.node;
    }
    if (step.kind === 'end' && !step.isAnswer)
      for (const radio of step.frame.received_first) state.has.add(pictureOf(player.variant).radios[radio].node);
  }
  return state;
}

function drawLine(layer, picture, { x, y }, from, radio, style) {
  const a = player.places[from];
  const b = player.places[picture.radios[radio].node];
  layer.append('line').attr('x1', x(a.x_m)).attr('y1', y(a.y_m)).attr('x2', x(b.x_m)).attr('y2', y(b.y_m))
    .attr('stroke', style.colour).attr('stroke-width', style.width).attr('stroke-dasharray', style.dash)
    .attr('vector-effect', 'non-scaling-stroke');
  if (style.cross)
    layer.append('path').attr('d', 'M-5,-5L5,5M-5,5L5,-5').attr('stroke', style.colour).attr('stroke-width', 2.5)
      .attr('transform', `translate(${x(b.x_m)},${y(b.y_m)})`);
}

const FRAME_STYLES = [
  { column: 'received_again', colour: '#56b4e9', width: 1, dash: '2 2', text: 'decoded, known already' },
  { column: 'lost_collision', colour: '#d55e00', width: 1, dash: '6 3', cross: true, text: 'lost to a collision' },
  { column: 'lost_busy', colour: '#e69f00', width: 1, dash: '6 3', cross: true, text: 'lost: busy with another' },
  { column: 'lost_sending', colour: '#8a8a8a', width: 1, dash: '6 3', cross: true, text: 'lost: was sending' },
  { column: 'lost_blocked', colour: '#cc79a7', width: 1, dash: '6 3', cross: true, text: 'lost: own other radio' },
  ...(OUTCOMES.includes('lost_asleep')
    ? [{ column: 'lost_asleep', colour: '#0072b2', width: 1, dash: '1 4', cross: true, text: 'lost: was asleep' }] : []),
  { column: 'received_first', colour: '#009e73', width: 3, dash: 'none', text: 'decoded, and new' },
];

function drawFrameOf(layer, picture, scales, state) {
  if (!state.frame) return;
  const from = state.sending;
  if (state.ended)
    for (const style of FRAME_STYLES)
      for (const entry of state.frame[style.column])
        drawLine(layer, picture, scales, from, Array.isArray(entry) ? entry[0] : entry, style);
  layer.append('circle').attr('cx', scales.x(player.places[from].x_m)).attr('cy', scales.y(player.places[from].y_m))
    .attr('r', state.ended ? 12 : 17).attr('fill', 'none').attr('stroke', '#d55e00').attr('stroke-width', 3);
}

/* Of a frame that has ended: where its sender and the others were when it began. */
function instantOf(step) {
  return DETAIL.messages[player.message].offered_s + (step.kind === 'end' ? step.frame.start_us : step.at) / 1e6;
}

function placeNodes() {
  const { nodes, scales, zoom } = player.stage;
  nodes.attr('transform', ({ number }) =>
    `translate(${scales.x(player.places[number].x_m)},${scales.y(player.places[number].y_m)}) scale(${1 / zoom.k})`);
}

function redraw() {
  const picture = pictureOf(player.variant);
  const { frames, nodes, scales } = player.stage;
  const state = stateAt(player.steps, player.at + 1);
  const now = player.steps[player.at];
  const replay = DETAIL.variants[player.variant].replay[player.message];
  const wanted = new Set(replay.recipients);
  player.places = picture.nodes.map((node) => placeAt(node, instantOf(now)));
  placeNodes();
  frames.selectAll('*').remove();
  drawFrameOf(frames, picture, scales, state);
  nodes.select('path').attr('fill', (node) => (state.has.has(node.number) ? '#009e73' : 'var(--paper)'))
    .attr('stroke', (node) => (now.held && node.number === now.node ? '#d55e00' : 'var(--ink)'))
    .attr('stroke-width', (node) =>
      (isNarrow() ? 0.6 : 1) * (node.number === now.node ? 4 : wanted.has(node.number) ? 2.5 : 1));
  nodes.select('path.down').attr('display', (node) => (state.down.has(node.number) ? null : 'none'));
  const log = document.getElementById('replay-log');
  clear(log).append(`${player.at + 1} of ${player.steps.length}, ${seconds(now.at / 1e6)} after the offer: ${now.text}`);
  const slider = document.getElementById('replay-slider');
  slider.value = player.at;
  slider.setAttribute('aria-valuetext', `step ${player.at + 1} of ${player.steps.length}`);
}

function go(to) {
  player.at = Math.max(0, Math.min(player.steps.length - 1, to));
  redraw();
}

function pause() {
  clearInterval(player.timer);
  player.timer = null;
  const play = document.getElementById('replay-play');
  clear(play).append('Play');
  play.setAttribute('aria-pressed', 'false');
  document.getElementById('replay-log').setAttribute('aria-live', 'polite');
}

/* While it plays, nobody is read every step. */
function play() {
  if (player.timer) return pause();
  if (player.at >= player.steps.length - 1) go(0);
  const button = document.getElementById('replay-play');
  clear(button).append('Pause');
  button.setAttribute('aria-pressed', 'true');
  document.getElementById('replay-log').setAttribute('aria-live', 'off');
  player.timer = setInterval(() => {
    go(player.at + 1);
    if (player.at >= player.steps.length - 1) pause();
  }, STEP_MS);
  return undefined;
}

function messageChooser(variant) {
  const select = el('select', { id: 'replay-message', 'aria-label': 'Message' });
  for (const { message, i, replay } of replaysOf(variant)) {
    const option = el('option', { value: i },
      `${message.traffic} from ${message.origin} at ${instant(message.offered_s)} (${WORDS.chosen[message.chosen] || message.chosen})`);
    option.disabled = replay === null;
    select.append(option);
  }
  select.value = player.message;
  select.addEventListener('change', () => {
    player.message = Number(select.value);
    drawReplay(variant);
    document.getElementById('replay-message').focus();
  });
  return select;
}

function replayControls(variant) {
  const slider = el('input', { type: 'range', id: 'replay-slider', min: 0, max: player.steps.length - 1, step: 1,
    value: 0, 'aria-label': 'Step' });
  slider.addEventListener('input', () => { if (player.timer) pause(); go(Number(slider.value)); });
  const by = (n) => () => { if (player.timer) pause(); go(player.at + n); };
  const playing = button('Play', 'Play or pause', play, 'replay-play');
  playing.setAttribute('aria-pressed', 'false');
  return el('div', { class: 'controls', id: 'replay-controls' }, messageChooser(variant), playing,
    button('Back', 'One step back', by(-1), 'replay-back'), button('Step', 'One step on', by(1), 'replay-step'), slider);
}

function replayStage(picture) {
  const scales = groundScales(picture);
  const svg = svgOf(scales.width, scales.height);
  svg.setAttribute('class', 'stage');
  svg.setAttribute('role', 'img');
  svg.setAttribute('aria-label', 'The mesh at this step; the line of text below says the same.');
  const root = d3.select(svg);
  const layer = root.append('g');
  const stays = (radio) => !nodeOf(picture, radio).moves;
  const links = picture.links.filter((link) => stays(link.from_radio) && stays(link.to_radio));
  drawLinks(layer, { ...picture, links }, scales, false);
  const turn = drawWays(layer, picture, scales);
  turn(1);
  const frames = layer.append('g');
  const nodes = layer.selectAll('g.node').data(bySize(picture.nodes)).enter().append('g').attr('class', 'node');
  nodes.append('path').attr('d', nodeShape);
  nodes.append('path').attr('class', 'down').attr('d', DOWN_CROSS);
  nodes.append('title').text((node) => node.name);
  const frame = frameOf(root, scales);
  frame(d3.zoomIdentity);
  player.stage = { frames, nodes, scales, zoom: d3.zoomIdentity };
  const buttons = zoomable(svg, layer, (zoom) => {
    player.stage.zoom = zoom;
    placeNodes();
    turn(zoom.k);
    frame(zoom);
  });
  return [svg, buttons];
}

const DOWN_CROSS = 'M-9,-9L9,9M-9,9L9,-9';

function replayKey(picture) {
  return key([
    { text: 'has the message', draw: (svg) => svg.append('circle').attr('cx', 14).attr('cy', 8).attr('r', 6).attr('fill', '#009e73') },
    { text: 'sends', draw: (svg) => svg.append('circle').attr('cx', 14).attr('cy', 8).attr('r', 6).attr('fill', 'none').attr('stroke', '#d55e00').attr('stroke-width', 3) },
    ...(player.steps.some((step) => step.kind === 'down') ? [{
      text: 'out of order',
      draw: (svg) => svg.append('path').attr('class', 'down').attr('transform', 'translate(14,8)').attr('d', DOWN_CROSS),
    }] : []),
    ...(picture.nodes.some((node) => node.moves) ? [{
      text: 'way of a node that moves; it is drawn where it is at the step, without its links',
      draw: (svg) => svg.append('path').attr('class', 'way').attr('d', 'M0,8H28'),
    }] : []),
    ...FRAME_STYLES.map((style) => ({
      text: style.text,
      draw: (svg) => svg.append('line').attr('x2', 28).attr('y1', 8).attr('y2', 8).attr('stroke', style.colour)
        .attr('stroke-width', style.width + 0.5).attr('stroke-dasharray', style.dash),
    })),
  ]);
}

function allSteps() {
  const list = el('ol', { class: 'steps' });
  for (const step of player.steps) list.append(el('li', {}, `${seconds(step.at / 1e6)}: ${step.text}`));
  return el('details', {}, el('summary', {}, 'All steps as a list'), list);
}

/* The message that is chosen, or the next one that there is in this variant. */
function presentMessage(variant) {
  const there = replaysOf(variant).filter(({ replay }) => replay !== null);
  if (there.some(({ i }) => i === player.message)) return true;
  if (there.length === 0) return false;
  player.message = there[0].i;
  return true;
}

function drawReplay(variant) {
  if (!DETAIL) return missing('replay');
  if (player.timer) pause();
  player.variant = variant;
  if (!presentMessage(variant)) return fill('replay', el('p', {}, 'No message was offered.'));
  const picture = pictureOf(variant);
  const replay = DETAIL.variants[variant].replay[player.message];
  player.steps = stepsOfReplay(picture, DETAIL.messages[player.message], replay);
  player.at = 0;
  const [svg, buttons] = replayStage(picture);
  fill('replay', el('p', {}, `${VARIANTS[variant]}, first run. Thick outlines: recipients.` +
    (replay.cut ? ' The message made more frames than fit into this page: its end is omitted.' : '')),
  replayControls(variant), svg, el('p', { id: 'replay-log', 'aria-live': 'polite' }), buttons, replayKey(picture), allSteps());
  redraw();
  return undefined;
}
