/* latency.js - how long messages take: their distribution, and against hops */

const binStart = (bin) => DETAIL.latency_bins.first_s * 10 ** (bin / DETAIL.latency_bins.per_decade);

/* [hops, bin, count] to counts by bin. */
function binsOf(variant, traffic) {
  const its = DETAIL.variants[variant].latency.find((row) => row.traffic === traffic);
  return its ? its.bins : [];
}

/* Points (latency, share that has arrived) of a distribution; the end of a bin is where its messages
 * are there for sure. */
function cumulative(bins) {
  const sums = new Map();
  for (const [, bin, count] of bins) sums.set(bin, (sums.get(bin) || 0) + count);
  const total = d3.sum([...sums.values()]);
  const points = [];
  let sum = 0;
  for (const bin of [...sums.keys()].sort((a, b) => a - b)) {
    points.push({ latency: binStart(bin), share: sum / total });
    sum += sums.get(bin);
    points.push({ latency: binStart(bin + 1), share: sum / total });
  }
  return points;
}

const withLatencies = () => [...new Set(DETAIL.variants.flatMap((variant) =>
  variant.latency.filter((row) => row.bins.length > 0).map((row) => row.traffic)))];

function curvePlot(traffic, x, width) {
  const height = 150;
  const y = d3.scaleLinear([0, 1], [height - 26, 20]);
  const svg = svgOf(width, height);
  const root = d3.select(svg);
  root.append('text').attr('x', 52).attr('y', 14).text(fitted(traffic, width - 60));
  root.append('g').attr('class', 'axis').attr('transform', `translate(0,${height - 26})`)
    .call(d3.axisBottom(x).ticks(5, ticksInSeconds).tickSizeOuter(0));
  root.append('g').attr('class', 'axis').attr('transform', 'translate(48,0)')
    .call(d3.axisLeft(y.copy().domain([0, 100])).ticks(4).tickFormat((value) => `${value} %`));
  VARIANTS.forEach((_, variant) => {
    root.append('path').attr('fill', 'none').attr('stroke', colourOf(variant))
      .attr('stroke-width', 2).attr('stroke-dasharray', dashOf(variant))
      .attr('d', d3.line().x((point) => x(point.latency)).y((point) => y(point.share))(
        cumulative(binsOf(variant, traffic))));
  });
  return svg;
}

function latencyNumbers() {
  return table('Latency of delivered messages, mean over the runs', [
    { head: 'traffic', value: (row) => row.traffic },
    { head: 'variant', value: (row) => row.variant },
    ...['latency-mean', 'latency-p50', 'latency-p95', 'latency-p99', 'latency-max'].map((measure) => ({
      head: measure.replace('latency-', ''), number: 's', value: (row) => row[measure],
    })),
  ], VARIANTS.flatMap((name, variant) => measures(variant, 'latency-mean', ['traffic']).map((row) => ({
    traffic: row.traffic,
    variant: name,
    ...Object.fromEntries(['latency-mean', 'latency-p50', 'latency-p95', 'latency-p99', 'latency-max']
      .map((measure) => [measure, (measures(variant, measure, ['traffic'])
        .find((other) => other.traffic === row.traffic) || {}).mean])),
  }))));
}

function latencyCurves() {
  const width = plotWidth();
  const traffics = withLatencies();
  const bins = DETAIL.variants.flatMap((variant) => variant.latency.flatMap((row) =>
    row.bins.map((bin) => bin[1])));
  const x = d3.scaleLog([binStart(d3.min(bins)), binStart(d3.max(bins) + 1)], [52, width - 24]);
  const height = 150;
  const svg = svgOf(width, height * traffics.length);
  traffics.forEach((traffic, i) => {
    const part = curvePlot(traffic, x, width);
    part.setAttribute('y', i * height);
    part.setAttribute('width', width);
    part.setAttribute('height', height);
    svg.append(part);
  });
  return svg;
}

/* Without details the percentiles stand for the curves. */
function latencyIntervals() {
  const groups = ['latency-p50', 'latency-p95'].flatMap((measure) =>
    groupsOf(measure, ['traffic'], (row) => `${row.traffic}, ${measure.replace('latency-p', '')} % within`))
    .filter((group) => group.rows.some(({ row }) => row.mean !== null));
  return groups.length > 0 ? intervalPlot(groups, 's', plotWidth()) : null;
}

function latencyPlot() {
  const hasBins = DETAIL && DETAIL.variants.some((variant) =>
    variant.latency.some((row) => row.bins.length > 0));
  const svg = hasBins ? latencyCurves() : latencyIntervals();
  if (!svg) return [];
  return [figure('latency', 'Latency', hasBins
    ? 'share of all arrivals that had arrived by then (all runs together).'
    : 'time by which half and 95 of 100 arrivals have arrived.', svg, latencyNumbers())];
}

/* ---- against hops */

/* Where a share of sorted bins lies. */
function quantile(bins, share) {
  const total = d3.sum(bins, (row) => row[2]);
  let sum = 0;
  for (const row of bins.slice().sort((a, b) => a[1] - b[1])) {
    sum += row[2];
    if (sum >= share * total) return Math.sqrt(binStart(row[1]) * binStart(row[1] + 1));
  }
  return null;
}

function hopRows(variant) {
  return withLatencies().flatMap((traffic) => {
    const bins = binsOf(variant, traffic);
    return [...new Set(bins.map((row) => row[0]))].sort((a, b) => a - b).map((hops) => {
      const its = bins.filter((row) => row[0] === hops);
      return { traffic, hops, n: d3.sum(its, (row) => row[2]), low: quantile(its, 0.05),
        middle: quantile(its, 0.5), high: quantile(its, 0.95) };
    });
  });
}

function hopPlot(rows) {
  const width = Math.max(320, Math.min(900, document.body.clientWidth - 32));
  const traffics = [...new Set(rows.map((row) => row.traffic))];
  const x = d3.scaleLog([d3.min(rows, (row) => row.low), d3.max(rows, (row) => row.high) * 1.01],
    [60, width - 70]);
  const height = d3.sum(traffics, (traffic) => 26 + 16 * rows.filter((row) => row.traffic === traffic).length) + 30;
  const svg = svgOf(width, height);
  const root = d3.select(svg);
  root.append('g').attr('class', 'axis').attr('transform', `translate(0,${height - 24})`)
    .call(d3.axisBottom(x).ticks(5, ticksInSeconds).tickSizeOuter(0));
  let y = 0;
  traffics.forEach((traffic, i) => {
    root.append('text').attr('x', 8).attr('y', y + 18).text(fitted(traffic, width - 16));
    y += 26;
    for (const row of rows.filter((other) => other.traffic === traffic)) {
      root.append('text').attr('x', 8).attr('y', y + 12).attr('class', 'soft')
        .text(`${row.hops} hop${row.hops === 1 ? '' : 's'}`);
      root.append('line').attr('x1', x(row.low)).attr('x2', x(row.high)).attr('y1', y + 8)
        .attr('y2', y + 8).attr('stroke', colourOf(i)).attr('stroke-width', 3);
      root.append('path').attr('d', markOf(i, 50)).attr('fill', colourOf(i))
        .attr('transform', `translate(${x(row.middle)},${y + 8})`);
      root.append('text').attr('x', width - 62).attr('y', y + 12).attr('class', 'soft')
        .text(row.n > 99999 ? d3.format('.2~s')(row.n) : row.n);
      y += 16;
    }
  });
  return svg;
}

function drawHops(variant) {
  if (!DETAIL) return missing('hops');
  const rows = hopRows(variant);
  if (rows.length === 0) return fill('hops', el('p', {}, 'Nothing was delivered.'));
  return fill('hops', figure('hops', VARIANTS[variant],
    'bars span 90 of 100 deliveries, marks are medians; the number in all runs follows. Bins are a ' +
    'twentieth of a decade wide: 12 %.', hopPlot(rows), table('Latency by hops', [
      { head: 'traffic', value: (row) => row.traffic },
      { head: 'hops', number: '1', value: (row) => row.hops },
      { head: 'deliveries', number: '1', value: (row) => row.n },
      { head: '5 % within', number: 's', value: (row) => row.low },
      { head: 'half within', number: 's', value: (row) => row.middle },
      { head: '95 % within', number: 's', value: (row) => row.high },
    ], rows)));
}
