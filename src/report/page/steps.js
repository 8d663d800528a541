/* steps.js - the way of one message as a list of things that happen, in their order */

const ORDER = { offered: 0, down: 0.5, up: 0.5, start: 1, end: 2, decision: 3, delivered: 4, dropped: 5 };

/* "walker-3 sends it on valley (hop 2)" and so on: {at, kind, text, and what is to be drawn} */
function stepsOfReplay(picture, message, replay) {
  const steps = [{ at: 0, kind: 'offered', node: replay.origin,
    text: `${picture.nodes[replay.origin].name} has a message of ${message.traffic} for ${recipients(picture, replay)}.` }];
  for (const frame of framesOf(replay)) addFrame(steps, picture, replay, frame);
  for (const decision of objects(replay.decisions)) addDecision(steps, picture, decision);
  for (const row of objects(replay.delivered))
    steps.push({ at: row.at_us, kind: 'delivered', node: row.node,
      text: `${picture.nodes[row.node].name} has it, after ${row.hops} hop${row.hops === 1 ? '' : 's'}.` });
  for (const row of objects(replay.dropped))
    steps.push({ at: row.at_us, kind: 'dropped', node: picture.radios[row.radio].node,
      text: `${radioName(picture, row.radio)} will not send it: ${WORDS.causes[row.cause] || row.cause}.` });
  for (const row of replay.down ? objects(replay.down) : []) addOutage(steps, picture, replay, row);
  return steps.sort((a, b) => a.at - b.at || ORDER[a.kind] - ORDER[b.kind]);
}

/* With the radios that slept through each. */
function framesOf(replay) {
  const frames = objects(replay.frames).map((frame) => ({ ...frame, lost_asleep: [] }));
  for (const row of replay.lost_asleep ? objects(replay.lost_asleep) : [])
    if (frames[row.frame]) frames[row.frame].lost_asleep.push(row.radio);
  return frames;
}

/* Of a node that is down already when the message is offered, too. */
function addOutage(steps, picture, replay, row) {
  const { name } = picture.nodes[row.node];
  steps.push({ at: Math.max(0, row.from_us), kind: 'down', node: row.node,
    text: row.from_us < 0 ? `${name} is out of order.` : `${name} fails and is out of order.` });
  if (row.until_us !== null && row.until_us <= replay.until_us)
    steps.push({ at: row.until_us, kind: 'up', node: row.node, text: `${name} is back.` });
}

function recipients(picture, replay) {
  const names = replay.recipients.map((node) => picture.nodes[node].name);
  if (names.length === 0) return 'nobody';
  return names.length <= 3 ? names.join(', ') : `${names.length} nodes`;
}

/* Frames carry the message, a further try, an acknowledgement, or a digest of them. */
function cargoOf(replay, frame) {
  const attempt = replay.attempts ? replay.attempts[frame.carrier] : 1;
  if (attempt === 0) return { text: 'its acknowledgement', isAnswer: true };
  if (attempt > 1) return { text: `it again, try ${attempt}`, isAnswer: false };
  return { text: frame.carrier > 0 ? 'it in a digest' : 'it', isAnswer: false };
}

/* What an acknowledgement means at the source. */
function answered(picture, replay, frame, cargo) {
  if (!cargo.isAnswer || !frame.received_first.some((radio) => picture.radios[radio].node === replay.origin)) return '';
  return `; ${picture.nodes[replay.origin].name} has its answer`;
}

function addFrame(steps, picture, replay, frame) {
  const name = radioName(picture, frame.radio);
  const cargo = cargoOf(replay, frame);
  const waits = [];
  if (frame.waited_duty_us > 0) waits.push(`${seconds(frame.waited_duty_us / 1e6)} for its duty cycle`);
  if (frame.waited_access_us > 0) waits.push(`${seconds(frame.waited_access_us / 1e6)} for a free channel`);
  steps.push({ at: frame.start_us, kind: 'start', frame, node: picture.radios[frame.radio].node,
    text: `${name} sends ${cargo.text} (hop ${frame.hops}, ${seconds(frame.airtime_us / 1e6)} on the air)` +
      `${waits.length > 0 ? `, after waiting ${waits.join(' and ')}` : ''}.` });
  if (frame.ended)
    steps.push({ at: frame.start_us + frame.airtime_us, kind: 'end', frame, isAnswer: cargo.isAnswer,
      node: picture.radios[frame.radio].node,
      text: `${name}’s frame: ${outcomesText(picture, frame)}${answered(picture, replay, frame, cargo)}.` });
}

function named(picture, radios) {
  const names = radios.map((radio) => nodeOf(picture, radio).name);
  return names.length <= 4 ? names.join(', ') : `${names.slice(0, 3).join(', ')} and ${names.length - 3} more`;
}

function lostText(picture, pairs, what) {
  if (pairs.length === 0) return [];
  const [receiver, disturber] = Array.isArray(pairs[0]) ? pairs[0] : [pairs[0], undefined];
  const radios = pairs.map((pair) => (Array.isArray(pair) ? pair[0] : pair));
  const by = disturber === undefined ? ''
    : ` (${nodeOf(picture, receiver).name} by ${disturber === null ? WORDS.blame.ambient : nodeOf(picture, disturber).name})`;
  return [`${named(picture, radios)} ${what}${by}`];
}

function outcomesText(picture, frame) {
  const parts = [
    ...(frame.received_first.length > 0 ? [`new to ${named(picture, frame.received_first)}`] : []),
    ...(frame.received_again.length > 0 ? [`already known to ${named(picture, frame.received_again)}`] : []),
    ...lostText(picture, frame.lost_collision, 'lost it to a collision'),
    ...lostText(picture, frame.lost_busy, 'lost it, busy with another frame'),
    ...lostText(picture, frame.lost_sending, 'lost it while sending'),
    ...lostText(picture, frame.lost_blocked, 'lost it, blocked by its own other radio'),
    ...lostText(picture, frame.lost_asleep, 'slept through it'),
  ];
  return parts.length > 0 ? parts.join('; ') : 'no node is within reach';
}

/* Those that go on as everywhere are left to the frames; bridges are always shown. */
function addDecision(steps, picture, row) {
  if (row.bridge === null && (row.decision === 'send' || row.decision === 'no-relay')) return;
  const node = picture.radios[row.radio].node;
  const bearer = picture.detail.bearers[picture.radios[row.radio].bearer].name;
  const rule = row.rule > 0 ? `, by rule ${row.rule}${row.rule_line ? ` (line ${row.rule_line})` : ''}` : '';
  const what = row.bridge !== null && row.decision === 'send'
    ? `lets it across to ${bearer}` : WORDS.decisions[row.decision] || row.decision;
  const at = row.bridge === picture.nodes[node].name ? '' : `, at ${picture.nodes[node].name}`;
  const where = row.bridge !== null ? `Bridge ${row.bridge}, crossing ${row.crossing}${at},` : picture.nodes[node].name;
  const onto = row.bridge !== null && row.decision !== 'send' ? ` towards ${bearer}` : '';
  steps.push({ at: row.at_us, kind: 'decision', node, bridge: row.bridge !== null, held: row.decision === 'held-back',
    text: `${where} ${what}${onto}${rule}.` });
}
