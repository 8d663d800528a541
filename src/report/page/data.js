/* data.js - the result that this page shows, as it was written */
const RESULT = JSON.parse(document.getElementById('result').textContent);
/* What the program worked out for the page: see additions() of page.c. */
const ADDITIONS = JSON.parse(document.getElementById('additions').textContent);
const DETAIL = RESULT.detail || null;
const VARIANTS = RESULT.variants.map((variant) => variant.name);

/* Rows with named columns become objects. */
function objects(rows) {
  return rows.rows.map((row) =>
    Object.fromEntries(rows.columns.map((column, i) => [column, row[i]])));
}

/* What a node in degrees has in metres: its place, and the points of its way. */
const onPaper = (node, [[x, y], ...along]) =>
  ({ x_m: x, y_m: y, ...(node.moves && { moves: { ...node.moves, along } }) });

/* Of one variant, made once it is asked for. */
const PICTURES = [];
function pictureOf(variant) {
  if (!PICTURES[variant]) {
    const detail = DETAIL.variants[variant];
    const radios = objects(detail.radios);
    const perNode = objects(detail.node_measures);
    const perRadio = objects(detail.radio_measures).map((row) => ({ ...row, lost_asleep: null }));
    if (detail.sleepers)
      for (const row of objects(detail.sleepers)) perRadio[row.radio].lost_asleep = row.lost_asleep;
    PICTURES[variant] = {
      detail,
      radios,
      perRadio,
      nodes: detail.nodes.map((node, i) => ({
        ...node,
        ...(ADDITIONS.places && onPaper(node, ADDITIONS.places[variant][i])),
        number: i,
        measures: perNode[i],
        sending: d3.sum(node.radios, (r) => perRadio[r].sending),
        loss: lossOf(node.radios.map((r) => perRadio[r])),
      })),
      links: objects(detail.links),
      disturbers: objects(detail.disturbers),
    };
  }
  return PICTURES[variant];
}

/* Of all frames within reach of a node's radios, the share that it lost; null if there were none. */
function lossOf(radios) {
  const audible = d3.sum(radios, (radio) => radio.audible_per_hour);
  if (!(audible > 0)) return null;
  return 1 - d3.sum(radios, (radio) => radio.audible_per_hour * (radio.received || 0)) / audible;
}

/* What people call it goes first; names are what the rest of the page has room for. */
const nodeWords = (node) => (node.label ? `${node.label}, ${node.name}` : node.name);

function radioName(picture, radio) {
  if (radio === null) return WORDS.blame.ambient;
  const { node, bearer } = picture.radios[radio];
  return `${picture.nodes[node].name} on ${picture.detail.bearers[bearer].name}`;
}

function nodeOf(picture, radio) {
  return picture.nodes[picture.radios[radio].node];
}

/* The rows of one measure that are counted by just these dimensions. */
function measures(variant, measure, dimensions) {
  const all = ['traffic', 'bearer', 'node', 'bridge', 'to'];
  return RESULT.variants[variant].measures.filter((row) => row.measure === measure &&
    all.every((dimension) => (row[dimension] !== undefined) === dimensions.includes(dimension)));
}

function difference(variant, row) {
  return RESULT.differences.find((other) => other.variant === VARIANTS[variant] &&
    ['measure', 'traffic', 'bearer', 'node', 'bridge', 'to'].every((key) => other[key] === row[key]));
}
