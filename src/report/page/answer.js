/* answer.js - what each variant changes for every traffic, its price included, and how sure that is */

/* What people ask of their messages; `better`: which way it gets better; `says`: as a sentence.  The
 * second of a pair is shown only where it differs from the first. */
const shareSays = (verb) => (name, after, before) => `${after} of ${name} ${verb} instead of ${before}`;
const ASKED = [
  [{ measure: 'delivery-in-time', unit: 'ratio', better: 1, text: 'delivery in time', says: shareSays('arrives in time') },
    { measure: 'delivery', unit: 'ratio', better: 1, text: 'delivery', says: shareSays('arrives') }],
  [{ measure: 'latency-p95', unit: 's', better: -1, text: '95 % there within',
    says: (name, after, before) => `95 % of arrivals of ${name} take at most ${after} instead of ${before}` },
  { measure: 'latency-mean', unit: 's', better: -1, text: 'mean delay',
    says: (name, after, before) => `${name} takes ${after} on average instead of ${before}` }],
];
const LOAD = { measure: 'load', unit: 'erlang', text: 'time on the air' };

/* In the order in which they are shown. */
const VERDICTS = { gains: 'Gains', loses: 'Loses', undecided: 'Undecided', same: 'The same in every run',
  single: 'Changes in a single run, possibly by chance', none: 'Cannot be compared', load: 'On the air' };

function verdictOf(change, asked) {
  if (!change || change.mean === null) return 'none';
  if (asked === LOAD) return 'load';
  if (!change.ci95) return 'single';
  const [low, high] = change.ci95;
  if (low === 0 && high === 0) return 'same';
  if (low <= 0 && high >= 0) return 'undecided';
  return change.mean * asked.better > 0 ? 'gains' : 'loses';
}

/* One measure of one traffic or bearer, before and after; null where neither has it. */
function changeOf(variant, asked, dimension, name) {
  const find = (v) => measures(v, asked.measure, [dimension]).find((row) => row[dimension] === name);
  const [before, after] = [find(0), find(variant)];
  const has = (row) => row !== undefined && row.mean !== null;
  if (!has(before) && !has(after)) return null;
  const change = after && difference(variant, after);
  return { name, asked, before, after, change, verdict: verdictOf(change, asked) };
}

const namesOf = (variant, measure, dimension) => [...new Set([0, variant].flatMap((v) =>
  measures(v, measure, [dimension]).map((row) => row[dimension])))];

function changesOf(variant) {
  const ofTraffics = namesOf(variant, 'delivery', 'traffic').flatMap((name) => ASKED.flatMap((pair) => {
    const [first, second] = pair.map((asked) => changeOf(variant, asked, 'traffic', name));
    return [first, first && second && first.verdict === second.verdict ? null : second];
  }));
  const ofBearers = namesOf(variant, 'load', 'bearer').map((name) => changeOf(variant, LOAD, 'bearer', name));
  return [...ofTraffics, ...ofBearers].filter((change) => change !== null);
}

/* ---- the short of it */

const pairText = ({ change, asked }) =>
  `${shownDifference(change, asked.unit)}, 95 % interval ${differenceInterval(change, asked.unit)}`;

/* "83.6 % of talk arrives in time instead of 27.0 % (...)" */
const sentence = (its) => `${its.asked.says(its.name, shown(its.after.mean, its.asked.unit),
  shown(its.before.mean, its.asked.unit))} (${pairText(its)})`;

/* How far it is from 0, in widths of its interval; what has a deadline goes first. */
const clearness = ({ asked, change }) => (asked === ASKED[0][0] ? 1e6 : 0) +
  Math.abs(change.mean) / (change.ci95[1] - change.ci95[0] + 1e-12);
const lostShare = ({ change }) => -change.mean;
/* An undecided loss of as many points or more may be what matters most. */
const LARGE_LOSS = 0.05;
const growth = ({ after, before }) => after.mean / before.mean;

const most = (changes, weight) => changes.slice().sort((a, b) => weight(b) - weight(a))[0];

/* "; it is undecided whether 55.0 % of logs arrives instead of 75.0 % (...)", where that is much */
function openLossText(undecided) {
  const loss = most(undecided, lostShare);
  return loss && lostShare(loss) >= LARGE_LOSS ? `; it is undecided whether ${sentence(loss)}${moreText(loss.change)}` : '';
}

/* The clearest gain, the worst that it costs in messages and in time, and what it may cost. */
function headline(variant) {
  const changes = changesOf(variant);
  const of = (verdict, unit) => changes.filter((its) => its.verdict === verdict && its.asked.unit === unit);
  const gain = most(of('gains', 'ratio'), clearness) || most(of('gains', 's'), clearness);
  const losses = [most(of('loses', 'ratio'), lostShare), most(of('loses', 's'), growth)].filter(Boolean);
  const name = `With ${VARIANTS[variant]}, `;
  const price = losses.map(sentence).join('; ');
  if (gain) return `${name}${sentence(gain)}. ${price ? `The price: ${price}` : 'No traffic is sure to lose'}` +
    `${openLossText(of('undecided', 'ratio'))}.`;
  if (price) return `${name}${price}${openLossText(of('undecided', 'ratio'))}. No traffic is sure to gain.`;
  const open = most(of('undecided', 'ratio'), clearness) || most(of('undecided', 's'), clearness);
  return `${name}${open ? `nothing is sure to change for any traffic: it is undecided whether ${sentence(open)}` +
    moreText(open.change) : 'all traffics do equally well in every run'}.`;
}

/* ---- all of it */

/* "; about 12 more runs would likely decide", where that is so */
function moreText(change) {
  const more = ADDITIONS.more[RESULT.differences.indexOf(change)];
  if (more === null) return '';
  return more > ADDITIONS.more_most ? `; more than ${ADDITIONS.more_most} further runs would be needed to decide`
    : `; about ${more} more run${more === 1 ? '' : 's'} would likely decide`;
}

function absentText({ before, after }, variant) {
  if (before && after) return `nothing to compare: no run has a value both in ${VARIANTS[0]} and ${VARIANTS[variant]}`;
  return `is in ${VARIANTS[before ? 0 : variant]} alone`;
}

/* "talk, delivery in time: from 27.0 to 83.6 %, +56.6 points (+48.5 to +64.7)" */
function changeText(its, variant) {
  const { name, asked, before, after, change, verdict } = its;
  const what = `${name}, ${asked.text}`;
  if (verdict === 'none') return `${what}: ${absentText(its, variant)}`;
  if (verdict === 'same') return `${what}: ${shown(after.mean, asked.unit)}`;
  const by = change.ci95 ? ` (${differenceInterval(change, asked.unit)})` : '';
  const of = change.n < RESULT.replications ? `; ${change.n} of ${RESULT.replications} runs have a value` : '';
  return `${what}: ${fromTo(before.mean, after.mean, asked.unit)}, ${shownDifference(change, asked.unit)}${by}${of}` +
    moreText(change);
}

/* What is certain is always shown, even if it is nothing. */
function changeList(variant) {
  const changes = changesOf(variant);
  const isSure = changes.some((its) => its.change && its.change.ci95);
  const list = el('dl', { class: 'changes', 'data-variant': VARIANTS[variant] });
  for (const [verdict, title] of Object.entries(VERDICTS)) {
    const its = changes.filter((one) => one.verdict === verdict);
    const isTold = its.length > 0 || (isSure && (verdict === 'gains' || verdict === 'loses'));
    if (!isTold) continue;
    list.append(el('dt', {}, title));
    for (const one of its) list.append(el('dd', { 'data-verdict': verdict }, changeText(one, variant)));
    if (its.length === 0) list.append(el('dd', { class: 'soft' }, 'nothing certain'));
  }
  return list;
}

function variantPart(variant) {
  const summary = DETAIL ? DETAIL.variants[variant].summary : null;
  return [el('h3', {}, `What ${VARIANTS[variant]} changes compared with ${VARIANTS[0]}`),
    ...(summary ? [el('p', { class: 'soft' }, summary)] : []), changeList(variant)];
}

function basis() {
  const n = RESULT.replications;
  const layout = RESULT.one_layout ? ', for this one layout of random places' : '';
  if (n < 2) return `It rests on a single run${layout}, so no interval can be given.`;
  const runs = `It rests on ${n} runs of ${duration(RESULT.duration_s)}${layout}`;
  return VARIANTS.length > 1
    ? `${runs} of each variant, paired on the same random numbers; intervals contain the model’s ` +
      'true value in 95 of 100 such studies, if its inputs are right; each interval alone: about one in ' +
      'twenty misleads where nothing changes.'
    : `${runs}; intervals contain the model’s true value in 95 of 100 such studies, if its inputs ` +
      'are right.';
}

/* A traffic with a deadline is judged by it. */
function aloneText() {
  const parts = namesOf(0, 'delivery', 'traffic').flatMap((name) => {
    const its = ASKED[0].map((asked) => ({ asked, row: measures(0, asked.measure, ['traffic'])
      .find((row) => row.traffic === name) })).find(({ row }) => row && row.mean !== null);
    return its ? [`${shown(its.row.mean, 'ratio')} of ${name} ${its.asked.text}`] : [];
  });
  return parts.length > 0 ? `${parts.join(', ')}.` : 'No message with a recipient was offered.';
}

function singleText(variant) {
  return `${VARIANTS[variant]} against ${VARIANTS[0]}: one run of each, so no change can be told from chance.`;
}

function drawAnswer() {
  const others = d3.range(1, VARIANTS.length);
  const children = others.length === 0 ? [el('p', {}, aloneText())]
    : others.map((variant) => el('p', {}, RESULT.replications > 1 ? headline(variant) : singleText(variant)));
  children.push(el('p', { class: 'basis' }, basis()), el('p', { class: 'basis' }, ADDITIONS.left_out, ' ',
    el('a', { href: '#model' }, 'Everything it leaves out.')));
  if (RESULT.interrupted)
    children.push(el('p', { class: 'note' }, 'The study was interrupted: these are the finished runs.'));
  children.push(...others.flatMap(variantPart));
  if (others.length > 0) children.push(el('p', { class: 'soft' }, WORDS.delays));
  fill('answer', ...children);
}
