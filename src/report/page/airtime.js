/* airtime.js - how busy each bearer is from the start of a run to its end */

function stepsOf(rows, bearer) {
  const whole = rows.find((row) => row.bearer === bearer && row.traffic === null);
  const parts = rows.filter((row) => row.bearer === bearer && row.traffic !== null);
  return whole.mean.map((mean, i) => ({
    i,
    at: i * DETAIL.timeline_step_s,
    mean,
    low: whole.low[i],
    high: whole.high[i],
    parts: parts.map((part) => part.mean[i]),
  }));
}

/* A traffic has one colour on all bearers. */
function trafficColour(traffic) {
  const all = [...new Set(RESULT.variants.flatMap((variant) =>
    variant.measures.filter((row) => row.traffic !== undefined).map((row) => row.traffic)))].sort();
  return colourOf(all.indexOf(traffic));
}

function areas(root, steps, traffics, x, y) {
  const sums = steps.map((step) => {
    let sum = 0;
    return step.parts.map((part) => [sum, sum += part]);
  });
  traffics.forEach((traffic, t) => {
    root.append('path').attr('fill', trafficColour(traffic)).attr('fill-opacity', 0.75)
      .attr('d', d3.area().curve(d3.curveStepAfter).x((step) => x(step.at))
        .y0((step) => y(sums[step.i][t][0])).y1((step) => y(sums[step.i][t][1]))(steps))
      .append('title').text(traffic);
  });
}

function airtimePlot(steps, traffics, name) {
  const width = Math.max(320, Math.min(900, document.body.clientWidth - 32));
  const height = 190;
  const most = d3.max(steps, (step) => (step.high === null ? step.mean : step.high)) || 0.001;
  const y = d3.scaleLinear([0, most], [height - 30, 24]).nice();
  const left = leftOf(y, 4);
  const x = d3.scaleLinear([0, RESULT.duration_s], [left, width - 24]);
  const hours = RESULT.duration_s > 7200;
  const svg = svgOf(width, height);
  const root = d3.select(svg);
  root.append('text').attr('x', left).attr('y', 14).text(fitted(name, width - left - 12));
  areas(root, steps, traffics, x, y);
  for (const edge of ['low', 'high'])
    root.append('path').attr('fill', 'none').attr('stroke', 'currentColor').attr('stroke-width', 0.75)
      .attr('d', d3.line().curve(d3.curveStepAfter).defined((step) => step[edge] !== null)
        .x((step) => x(step.at)).y((step) => y(step[edge]))(steps));
  if (RESULT.warm_up_s > 0)
    root.append('line').attr('x1', x(RESULT.warm_up_s)).attr('x2', x(RESULT.warm_up_s)).attr('y1', 20)
      .attr('y2', height - 30).attr('stroke', 'currentColor').attr('stroke-dasharray', '2 3');
  root.append('g').attr('class', 'axis').attr('transform', `translate(0,${height - 30})`)
    .call(d3.axisBottom(x.copy().domain([0, RESULT.duration_s / (hours ? 3600 : 60)])).ticks(width < 600 ? 4 : 6)
      .tickFormat((value) => `${value} ${hours ? 'h' : 'min'}`));
  root.append('g').attr('class', 'axis').attr('transform', `translate(${left},0)`).call(d3.axisLeft(y).ticks(4));
  return svg;
}

function drawAirtime(variant) {
  if (!DETAIL) return missing('airtime');
  const picture = pictureOf(variant);
  const rows = picture.detail.timeline.rows;
  const children = [];
  const numbers = [];
  picture.detail.bearers.forEach((bearer, b) => {
    const steps = stepsOf(rows, b);
    const traffics = rows.filter((row) => row.bearer === b && row.traffic !== null).map((row) => row.traffic);
    const svg = airtimePlot(steps, traffics, `${bearer.name}, erlang`);
    svg.setAttribute('role', 'img');
    svg.setAttribute('aria-label', `Airtime of ${bearer.name} over time; the numbers are in a table below.`);
    children.push(svg, key(traffics.map((traffic) => ({
      text: traffic,
      draw: (mark) => mark.append('rect').attr('width', 28).attr('height', 16).attr('fill', trafficColour(traffic))
        .attr('fill-opacity', 0.75),
    }))));
    numbers.push(table(`${bearer.name}, erlang, by steps of ${shown(DETAIL.timeline_step_s, 's')}`, [
      { head: 'from', number: 'instant', value: (step) => step.at },
      { head: 'mean', number: 'erlang', value: (step) => step.mean },
      { head: 'low', number: 'erlang', value: (step) => step.low },
      { head: 'high', number: 'erlang', value: (step) => step.high },
    ], steps));
  });
  const text = 'the share of each step that is on the air, by traffic; thin lines bound the 95 % interval of their sum. ' +
    'Before the dashed line is the warm-up, which is not counted elsewhere.';
  return fill('airtime', el('figure', { id: 'plot-airtime' },
    el('figcaption', {}, el('strong', {}, VARIANTS[variant]), ` ${text}`), ...children,
    el('details', {}, el('summary', {}, 'The numbers'), ...numbers)));
}
