/* intervals.js - means with their 95 % intervals, a row for each variant below each subject */
const ROW = 20;
const GROUP_GAP = 26;

/* groups: {label, rows: [{variant, row}]}; all rows of one unit. */
function intervalPlot(groups, unit, width) {
  const all = groups.flatMap((group) => group.rows.map(({ row }) => row));
  const right = d3.max(all, (row) => (row.ci95 ? row.ci95[1] : row.mean)) || 1;
  const most = unit === 'ratio' ? 1 : right;
  const x = d3.scaleLinear([0, most], [16, width - 78]);
  if (unit !== 'ratio') x.range([Math.max(16, widestTick(x, 5) / 2 + 2), width - 78]);
  const height = d3.sum(groups, (group) => GROUP_GAP + ROW * group.rows.length) + 30;
  const svg = svgOf(width, height);
  const root = d3.select(svg);
  axisBelow(root, x, height - 24, unit);
  let y = 0;
  for (const group of groups) {
    root.append('text').attr('x', 8).attr('y', y + 18).text(fitted(group.label, width - 16));
    y += GROUP_GAP;
    for (const { variant, row } of group.rows) {
      drawInterval(root, x, y + ROW / 2, variant, row);
      root.append('text').attr('x', width - 64).attr('y', y + ROW / 2 + 4)
        .attr('class', 'soft').text(unit === 'ratio' ? shown(row.mean, unit) : shown(row.mean, '1'));
      y += ROW;
    }
  }
  return svg;
}

/* Shares in percent, others in their unit. */
function axisBelow(root, x, y, unit) {
  const scale = unit === 'ratio' ? x.copy().domain(x.domain().map((value) => 100 * value)) : x;
  const format = unit === 'ratio' ? (value) => `${value} %` : scale.tickFormat(5);
  const n = ticksBelow(scale, 5, format);
  const axis = d3.axisBottom(scale).ticks(n).tickFormat(format).tickSizeOuter(0);
  for (const tick of scale.ticks(n))
    root.append('line').attr('class', 'grid').attr('x1', scale(tick)).attr('x2', scale(tick)).attr('y1', 22).attr('y2', y);
  root.append('g').attr('class', 'axis').attr('transform', `translate(0,${y})`).call(axis);
  if (unit !== 'ratio' && unit !== '1')
    root.append('text').attr('x', x.range()[1] + Math.max(8, widestTick(scale, n, format) / 2 + 6))
      .attr('y', y + 18).attr('class', 'soft').text(unit);
}

function drawInterval(root, x, y, variant, row) {
  if (row.mean === null) return;
  if (row.ci95)
    root.append('line').attr('x1', x(row.ci95[0])).attr('x2', x(row.ci95[1]))
      .attr('y1', y).attr('y2', y).attr('stroke', colourOf(variant)).attr('stroke-width', 3);
  root.append('path').attr('d', markOf(variant, 60))
    .attr('transform', `translate(${x(row.mean)},${y})`).attr('fill', colourOf(variant));
}

function intervalTable(caption, groups, unit) {
  const rows = groups.flatMap((group) => group.rows.map((entry) => ({ ...entry, group })));
  return table(caption, [
    { head: 'of', value: ({ group }) => group.label },
    { head: 'variant', value: ({ variant }) => VARIANTS[variant] },
    { head: 'mean', number: unit, value: ({ row }) => row.mean },
    { head: 'low', number: unit, value: ({ row }) => (row.ci95 ? row.ci95[0] : null) },
    { head: 'high', number: unit, value: ({ row }) => (row.ci95 ? row.ci95[1] : null) },
  ], rows);
}

/* Rows of one measure, grouped by what `label` says of them. */
function groupsOf(measure, dimensions, label) {
  const groups = new Map();
  VARIANTS.forEach((_, variant) => {
    for (const row of measures(variant, measure, dimensions)) {
      const name = label(row);
      if (!groups.has(name)) groups.set(name, { label: name, rows: [] });
      groups.get(name).rows.push({ variant, row });
    }
  });
  return [...groups.values()].filter((group) => group.rows.some(({ row }) => row.mean !== null));
}
