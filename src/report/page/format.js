/* format.js - numbers as people read them */
function digits(value, n) {
  if (value === 0) return '0';
  const decimals = Math.max(0, Math.min(6, n - 1 - Math.floor(Math.log10(Math.abs(value)))));
  return value.toFixed(decimals);
}

/* A value in the unit of results, or an instant in seconds. */
function shown(value, unit) {
  if (value === null || value === undefined) return '–';
  const minus = (text) => text.replace('-', '−');
  if (unit === 'ratio') return `${minus((100 * value).toFixed(1))} %`;
  if (unit === 'instant') return instant(value);
  if (unit === '1') return minus(digits(value, 3));
  return `${minus(digits(value, 3))} ${unit}`;
}

/* "88.1 % to 90.2 %" */
function interval(ci95, unit) {
  if (!ci95) return 'no interval';
  return `${shown(ci95[0], unit)} to ${shown(ci95[1], unit)}`;
}

/* A difference and its interval bear as many decimals as show the mean to three figures and keep a
 * bound that is not 0 from looking like 0. */
const scaleOf = (unit) => (unit === 'ratio' ? { factor: 100, text: ' points', least: 1 }
  : { factor: 1, text: ` ${unit}`, least: 0 });

function decimalsOf({ mean, ci95 }, unit) {
  const { factor, least } = scaleOf(unit);
  const size = Math.max(...[mean, ...(ci95 || [])].map((value) => Math.abs(factor * value)));
  let n = unit === 'ratio' ? least : Math.max(least, 2 - Math.floor(Math.log10(size || 1)));
  const isHidden = (value) => value !== 0 && Number((factor * value).toFixed(n)) === 0;
  while (n < 9 && [mean, ...(ci95 || [])].some(isHidden)) n++;
  return n;
}

function signed(value, unit, decimals) {
  const text = (scaleOf(unit).factor * value).toFixed(decimals);
  return (value > 0 ? `+${text}` : text).replace('-', '−');
}

/* "−12.5 points" */
const shownDifference = (change, unit) => signed(change.mean, unit, decimalsOf(change, unit)) + scaleOf(unit).text;

/* "−14.0 to −11.0", in the unit of the difference */
const differenceInterval = (change, unit) => change.ci95.map((value) =>
  signed(value, unit, decimalsOf(change, unit))).join(' to ');

/* "from 27.0 to 83.6 %" */
function fromTo(before, after, unit) {
  const end = shown(after, unit).replace(/^\S+/, '');
  return `from ${shown(before, unit).slice(0, -end.length)} to ${shown(after, unit)}`;
}

function seconds(value) {
  if (value < 0.001) return `${(1e6 * value).toFixed(0)} µs`;
  if (value < 1) return `${digits(1000 * value, 3)} ms`;
  return `${digits(value, 3)} s`;
}

/* Of an axis: each tick has the unit. */
const ticksInSeconds = (value) => `${d3.format('~g')(value)} s`;

/* An instant of a run, as messages of the program write it: "0:44:15.199". */
function instant(value) {
  const ms = Math.floor(Math.round(value * 1e9) / 1e6);
  const whole = Math.floor(ms / 1000);
  const two = (n) => String(n).padStart(2, '0');
  return `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}.` +
    String(ms % 1000).padStart(3, '0');
}

function duration(value) {
  if (value % 3600 === 0) return `${value / 3600} h`;
  if (value % 60 === 0) return `${value / 60} min`;
  return `${value} s`;
}
