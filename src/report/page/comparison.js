/* comparison.js - the measures that a plan is judged by, all variants side by side */
const PLOTS = [
  { id: 'delivery', name: 'Delivery', measure: 'delivery', dimensions: ['traffic'], unit: 'ratio',
    text: 'of the messages, the share that each recipient gets.' },
  { id: 'delivery-in-time', name: 'Delivery in time', measure: 'delivery-in-time',
    dimensions: ['traffic'], unit: 'ratio', text: 'within the traffic’s deadline.' },
  { id: 'acknowledged', name: 'Acknowledged', measure: 'acknowledged', dimensions: ['traffic'], unit: 'ratio',
    text: 'of the messages that want an answer, the share whose sender got one.' },
  { id: 'tries-mean', name: 'Tries', measure: 'tries-mean', dimensions: ['traffic'], unit: '1',
    text: 'for each message that wants an answer, the first included.' },
];

const plotWidth = () => Math.max(320, Math.min(520, document.body.clientWidth - 32));

function comparePlot(plot) {
  const groups = groupsOf(plot.measure, plot.dimensions, (row) => row.traffic);
  if (groups.length === 0) return [];
  return [figure(plot.id, plot.name, plot.text, intervalPlot(groups, plot.unit, plotWidth()),
    intervalTable(`${plot.name}, with 95 % intervals`, groups, plot.unit))];
}

const largest = (group) => d3.max(group.rows, ({ row }) => row.mean);

/* Of each bearer all together, then the traffics that are on it, the heaviest first; those that would
 * be no more than a dot at 0 stand in the table alone. */
function loadPlot() {
  const whole = groupsOf('load', ['bearer'], (row) => row.bearer);
  const parts = groupsOf('load', ['traffic', 'bearer'], (row) => `${row.bearer}: ${row.traffic}`)
    .filter((group) => largest(group) > 0).sort((a, b) => largest(b) - largest(a));
  const groups = whole.flatMap((group) =>
    [group, ...parts.filter((part) => part.label.startsWith(`${group.label}: `))]);
  if (groups.length === 0) return [];
  const least = 0.02 * d3.max(groups, largest);
  const drawn = groups.filter((group) => whole.includes(group) || largest(group) >= least);
  return [figure('load', 'Load', 'time on the air by bearer, and by traffic on it: 1 erlang is one ' +
    'frame on the air all the time.', intervalPlot(drawn, 'erlang', plotWidth()),
  intervalTable('Load, with 95 % intervals', groups, 'erlang'))];
}

function drawComparison() {
  const plots = el('div', { class: 'plots' },
    ...PLOTS.flatMap(comparePlot), ...latencyPlot(), ...loadPlot());
  fill('comparison', el('p', {}, 'A mark is the mean over all runs, the bar its 95 % interval.'),
    variantKey(), plots, el('p', { class: 'soft' }, WORDS.palette));
}
