/* answer.js - what changes with the proposed variant, and how sure that is, in two sentences */

/* The share that people would ask for first: in time where there is a deadline. */
function mainRows(variant) {
  const inTime = measures(variant, 'delivery-in-time', ['traffic']);
  return inTime.length > 0 ? inTime : measures(variant, 'delivery', ['traffic']);
}

const isSure = (row) => row && row.ci95 && (row.ci95[0] > 0 || row.ci95[1] < 0);

/* The row whose difference stands out most, in standard errors as it were. */
function clearest(rows, variant) {
  const weight = (row) => {
    const its = difference(variant, row);
    if (!its || !its.ci95) return -1;
    return Math.abs(its.mean) / (its.ci95[1] - its.ci95[0] + 1e-12);
  };
  return rows.slice().sort((a, b) => weight(b) - weight(a))[0];
}

const arrives = (row) => (row.measure === 'delivery-in-time' ? 'arrives in time' : 'arrives');

function deliverySentence(variant) {
  const row = clearest(mainRows(variant), variant);
  if (!row) return '';
  const before = mainRows(0).find((other) => other.traffic === row.traffic);
  const change = difference(variant, row);
  const name = `With ${VARIANTS[variant]}, ${shown(row.mean, 'ratio')} of ${row.traffic} ` +
    `${arrives(row)}`;
  if (!before || !change) return `${name}.`;
  const by = `${shown(change.mean, 'ratio', true)}, 95 % interval ${interval(change.ci95, 'ratio', true)}`;
  return isSure(change)
    ? `${name} instead of ${shown(before.mean, 'ratio')} (${by})`
    : `${name}, against ${shown(before.mean, 'ratio')} without: no difference that can be told ` +
      `from chance (${by})`;
}

function loadSentence(variant) {
  const row = clearest(measures(variant, 'load', ['bearer']), variant);
  const before = row && measures(0, 'load', ['bearer']).find((other) => other.bearer === row.bearer);
  const change = row && difference(variant, row);
  if (!before || !isSure(change)) return '.';
  const verb = change.mean < 0 ? 'falls' : 'rises';
  return `; the load of ${row.bearer} ${verb} from ${shown(before.mean, 'erlang')} to ` +
    `${shown(row.mean, 'erlang')}.`;
}

function basis() {
  const n = RESULT.replications;
  if (n < 2) return 'It rests on a single run: how sure it is cannot be told.';
  const runs = `It rests on ${n} runs of ${duration(RESULT.duration_s)}`;
  return VARIANTS.length > 1
    ? `${runs} of each variant, paired on the same random numbers; intervals hold the truth of ` +
      'the model in 95 of 100 such studies, if its inputs are right.'
    : `${runs}; intervals hold the truth of the model in 95 of 100 such studies, if its inputs ` +
      'are right.';
}

function aloneSentence() {
  const rows = mainRows(0).filter((row) => row.mean !== null);
  const parts = rows.map((row) => `${shown(row.mean, 'ratio')} of ${row.traffic}`);
  if (parts.length === 0) return 'No message with a recipient was offered.';
  return `${parts.join(', ')} ${arrives(rows[0])}.`;
}

function drawAnswer() {
  const first = VARIANTS.length > 1 ? deliverySentence(1) + loadSentence(1) : aloneSentence();
  const children = [el('p', {}, first), el('p', {}, basis())];
  const summary = DETAIL && VARIANTS.length > 1 ? DETAIL.variants[1].summary : null;
  if (summary) children.splice(1, 0, el('p', { class: 'soft' }, `${VARIANTS[1]}: ${summary}`));
  if (RESULT.interrupted)
    children.push(el('p', { class: 'note' }, 'The study was interrupted: this is what was finished.'));
  fill('answer', ...children);
}
