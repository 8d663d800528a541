/* format.js - numbers as people read them */
function digits(value, n) {
  if (value === 0) return '0';
  const decimals = Math.max(0, Math.min(6, n - 1 - Math.floor(Math.log10(Math.abs(value)))));
  return value.toFixed(decimals);
}

/* A value in the unit of results, or an instant in seconds; `sign` puts a + before what is positive. */
function shown(value, unit, sign) {
  if (value === null || value === undefined) return '–';
  const plus = sign && value > 0 ? '+' : '';
  const minus = (text) => plus + text.replace('-', '−');
  if (unit === 'ratio') return minus((100 * value).toFixed(1)) + (sign ? ' points' : ' %');
  if (unit === 'instant') return instant(value);
  if (unit === '1') return minus(digits(value, 3));
  return `${minus(digits(value, 3))} ${unit}`;
}

/* "88.1 % to 90.2 %" */
function interval(ci95, unit, sign) {
  if (!ci95) return 'no interval';
  return `${shown(ci95[0], unit, sign)} to ${shown(ci95[1], unit, sign)}`;
}

function seconds(value) {
  if (value < 0.001) return `${(1e6 * value).toFixed(0)} µs`;
  if (value < 1) return `${digits(1000 * value, 3)} ms`;
  return `${digits(value, 3)} s`;
}

/* Of an axis: the unit stands with each tick. */
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
