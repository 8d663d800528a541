/* scales.js - colours, dashes and shapes that stay distinct (WORDS.palette names their sources) */
const OKABE_ITO = ['#0072b2', '#d55e00', '#009e73', '#cc79a7', '#e69f00', '#56b4e9', '#8a8a8a'];
const DASHES = ['none', '7 3', '2 2', '9 3 2 3', '4 4', '1 3', '12 4'];
const MARKS = [d3.symbolCircle, d3.symbolDiamond, d3.symbolTriangle, d3.symbolSquare,
  d3.symbolStar, d3.symbolCross, d3.symbolWye];
const OUTCOME_COLOURS = {
  received: '#009e73',
  lost_collision: '#d55e00',
  lost_busy: '#e69f00',
  lost_sending: '#56b4e9',
  lost_blocked: '#cc79a7',
  lost_asleep: '#8a8a8a',
};

const nth = (list, i) => list[i % list.length];
const colourOf = (i) => nth(OKABE_ITO, i);
const dashOf = (i) => nth(DASHES, i);
const markOf = (i, size) => d3.symbol().type(nth(MARKS, i)).size(size)();

/* Low to high; of shares from 0 to 1. */
const cividis = d3.interpolateCividis;

function variantKey() {
  return key(VARIANTS.map((name, i) => ({
    text: name,
    draw: (svg) => {
      svg.append('line').attr('x1', 0).attr('x2', 28).attr('y1', 8).attr('y2', 8)
        .attr('stroke', colourOf(i)).attr('stroke-width', 2).attr('stroke-dasharray', dashOf(i));
      svg.append('path').attr('d', markOf(i, 60)).attr('transform', 'translate(14,8)')
        .attr('fill', colourOf(i));
    },
  })));
}

/* ---- axes: figures of any length have room */

const widestTick = (scale, n, format) => d3.max(scale.ticks(n), (value) =>
  textWidth((format || scale.tickFormat(n))(value)));

/* What an axis at the left needs beside its line. */
const leftOf = (scale, n) => Math.max(46, widestTick(scale, n) + 16);

/* How many ticks at most an axis below has room for. */
function ticksBelow(scale, most, format) {
  const room = Math.abs(scale.range()[1] - scale.range()[0]);
  let n = most;
  while (n > 1 && (scale.ticks(n).length - 1) * (widestTick(scale, n, format) + 10) > room) n--;
  return n;
}
