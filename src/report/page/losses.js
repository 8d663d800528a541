/* losses.js - what became of the frames that a receiver could hear */
const OUTCOMES = ['received', 'lost_collision', 'lost_busy', 'lost_sending', 'lost_blocked',
  /* where some radio sleeps */
  ...(RESULT.variants.some((variant) => variant.measures.some((row) => row.measure === 'lost-asleep'))
    ? ['lost_asleep'] : [])];
const MOST_RECEIVERS = 15;
const MOST_DISTURBERS = 20;

function outcomeKey() {
  return key(OUTCOMES.map((outcome) => ({
    text: WORDS.outcomes[outcome],
    draw: (svg) => svg.append('rect').attr('width', 28).attr('height', 16).attr('fill', OUTCOME_COLOURS[outcome]),
  })));
}

/* rows: {label, shares by outcome} */
function stackedBars(rows) {
  const width = Math.max(320, Math.min(900, document.body.clientWidth - 32));
  const left = Math.min(230, width * 0.42);
  const x = d3.scaleLinear([0, 1], [left, width - 12]);
  const svg = svgOf(width, rows.length * 24 + 28);
  const root = d3.select(svg);
  rows.forEach((row, i) => {
    let sum = 0;
    const y = i * 24;
    root.append('text').attr('x', left - 6).attr('y', y + 15).attr('text-anchor', 'end')
      .text(fitted(row.label, left - 8));
    for (const outcome of OUTCOMES) {
      const share = row[outcome] || 0;
      root.append('rect').attr('x', x(sum)).attr('y', y + 2).attr('height', 18)
        .attr('width', Math.max(0, x(sum + share) - x(sum))).attr('fill', OUTCOME_COLOURS[outcome])
        .attr('stroke', 'var(--paper)').attr('stroke-width', 0.5)
        .append('title').text(`${row.label}: ${WORDS.outcomes[outcome]}, ${shown(share, 'ratio')}`);
      sum += share;
    }
  });
  root.append('g').attr('class', 'axis').attr('transform', `translate(0,${rows.length * 24})`)
    .call(d3.axisBottom(x.copy().domain([0, 100])).ticks(5).tickSizeOuter(0));
  root.append('text').attr('x', 4).attr('y', rows.length * 24 + 18).attr('class', 'soft').text('% of frames in reach');
  return svg;
}

function outcomeTable(caption, rows) {
  return table(caption, [
    { head: 'at', value: (row) => row.label },
    ...OUTCOMES.map((outcome) => ({
      head: WORDS.outcomes[outcome], number: 'ratio', value: (row) => row[outcome],
    })),
  ], rows);
}

function bearerRows() {
  return VARIANTS.flatMap((name, variant) => measures(variant, 'received', ['bearer']).map((row) => ({
    label: `${row.bearer}, ${name}`,
    bearer: row.bearer,
    ...Object.fromEntries(OUTCOMES.map((outcome) => [outcome,
      (measures(variant, outcome.replace('_', '-'), ['bearer'])
        .find((other) => other.bearer === row.bearer) || { mean: null }).mean])),
  }))).filter((row) => row.received !== null)
    .sort((a, b) => (a.bearer < b.bearer ? -1 : a.bearer > b.bearer ? 1 : 0));
}

function receiverRows(picture) {
  return picture.perRadio.filter((row) => row.received !== null)
    .map((row) => ({ ...row, label: radioName(picture, row.radio),
      lost: row.audible_per_hour * (1 - row.received) }))
    .sort((a, b) => b.lost - a.lost).slice(0, MOST_RECEIVERS);
}

function disturberTable(picture) {
  const rows = picture.disturbers.slice().sort((a, b) => b.per_hour - a.per_hour).slice(0, MOST_DISTURBERS);
  if (rows.length === 0) return el('p', {}, 'No sender breaks any reception.');
  return table(`Worst disturbers, by receptions broken in an hour (the worst ${rows.length})`, [
    { head: 'receiver', value: (row) => radioName(picture, row.receiver_radio) },
    { head: 'disturbed by', value: (row) => radioName(picture, row.sender_radio) },
    { head: 'which is', value: (row) => WORDS.blame[row.blame] || row.blame },
    { head: 'an hour', number: '1', value: (row) => row.per_hour },
    { head: 'of its frames', number: 'ratio', value: (row) => row.share },
    { head: 'collision', number: 'ratio', value: (row) => row.collision },
    { head: 'busy', number: 'ratio', value: (row) => row.busy },
    { head: 'blocked', number: 'ratio', value: (row) => row.blocked },
  ], rows);
}

function drawLosses(variant) {
  const bearers = bearerRows();
  const children = [outcomeKey()];
  if (bearers.length > 0)
    children.push(figure('losses-bearer', 'By bearer', 'all receivers and variants, means over the runs.',
      stackedBars(bearers), outcomeTable('Outcomes by bearer', bearers)));
  if (DETAIL) {
    const picture = pictureOf(variant);
    const rows = receiverRows(picture);
    if (rows.length > 0)
      children.push(figure('losses-receiver', `By receiver, ${VARIANTS[variant]}`,
        `those that lose the most frames an hour (${rows.length} of ${picture.perRadio.length} radios).`,
        stackedBars(rows), outcomeTable('Outcomes by receiver', rows)));
    children.push(disturberTable(picture));
  } else {
    children.push(el('p', { class: 'note' }, WORDS.noDetail));
  }
  fill('losses', ...children);
}
