/* dom.js - elements; what comes from a result is only ever put in as text */
function el(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes || {}))
    if (value !== null && value !== undefined) element.setAttribute(key, value);
  for (const child of children)
    element.append(child instanceof Node ? child : document.createTextNode(child));
  return element;
}

function clear(element) {
  while (element.lastChild) element.lastChild.remove();
  return element;
}

/* What follows the heading of a section is drawn anew. */
function fill(id, ...children) {
  const section = document.getElementById(id);
  while (section.children.length > 1) section.lastChild.remove();
  section.append(...children);
  return section;
}

const isNumber = (column) => column.number !== undefined;
const cellText = (column, value) => (isNumber(column) ? shown(value, column.number) : String(value));

/* A column that says the same in every row is said once, above the table; the first says what a row is
 * about, and stays. */
function isSame(column, at, rows) {
  const first = rows.length > 1 && at > 0 ? cellText(column, column.value(rows[0])) : null;
  return first !== null && rows.every((row) => cellText(column, column.value(row)) === first);
}

function sameText(columns, rows) {
  const parts = columns.flatMap((column, at) => (isSame(column, at, rows) ? [el('span', {
    'data-at': at, 'data-head': column.head, class: isNumber(column) ? 'number' : null,
    'data-values': isNumber(column) ? JSON.stringify(rows.map(column.value)) : null,
  }, `${column.head}: ${cellText(column, column.value(rows[0]))}`)] : []));
  return parts.length === 0 ? [] : ['. In every row: ', ...parts.flatMap((part, i) => (i > 0 ? ['; ', part] : [part])), '.'];
}

function tableRow(columns, row) {
  return el('tr', {}, ...columns.map((column, at) => {
    const value = column.value(row);
    const isHead = at === 0 && !isNumber(column);
    return el(isHead ? 'th' : 'td', {
      scope: isHead ? 'row' : null,
      class: isNumber(column) ? 'number' : null,
      'data-head': column.head,
      'data-value': isNumber(column) && value !== null && value !== undefined ? value : null,
    }, cellText(column, value));
  }));
}

/* columns: {head, value(row), number: the unit, or undefined for text}.  Where a screen is too narrow for
 * so many, a row becomes a line of text. */
const MOST_ON_PHONE = 3;
function table(caption, columns, rows) {
  const told = columns.filter((column, at) => !isSame(column, at, rows));
  const head = el('tr', {}, ...told.map((column) =>
    el('th', { scope: 'col', class: isNumber(column) ? 'number' : null }, column.head)));
  return el('div', { class: 'scroll' }, el('table', { class: told.length > MOST_ON_PHONE ? 'wide' : null },
    el('caption', {}, caption, ...sameText(columns, rows)), el('thead', {}, head),
    el('tbody', {}, ...rows.map((row) => tableRow(told, row)))));
}

/* A picture with its name, what it says in words, and its numbers. */
function figure(id, name, text, svg, numbers) {
  const children = [el('figcaption', {}, el('strong', {}, name), ` ${text}`)];
  if (svg) {
    svg.setAttribute('role', 'img');
    svg.setAttribute('aria-label', `${name}: ${text}`);
    children.push(svg);
  }
  children.push(el('details', {}, el('summary', {}, 'The numbers'), numbers));
  return el('figure', { id: `plot-${id}` }, ...children);
}

function svgOf(width, height) {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  svg.setAttribute('viewBox', `0 0 ${width} ${height}`);
  return svg;
}

/* How wide a text of a picture is. */
const textWidth = (() => {
  const measure = document.createElement('canvas').getContext('2d');
  measure.font = `12px ${getComputedStyle(document.body).fontFamily}`;
  return (text) => measure.measureText(text).width;
})();

/* Names may be long, pictures are narrow: as much of a text as fits into a width of an svg. */
function fitted(text, width) {
  if (textWidth(text) <= width) return text;
  let n = text.length;
  while (n > 1 && textWidth(`${text.slice(0, n)}…`) > width) n--;
  return `${text.slice(0, n)}…`;
}

/* A list of what the marks of a picture mean. */
function key(entries) {
  const list = el('ul', { class: 'key' });
  for (const { draw, text } of entries) {
    const svg = svgOf(28, 16);
    svg.setAttribute('aria-hidden', 'true');
    draw(d3.select(svg));
    list.append(el('li', {}, svg, text));
  }
  return list;
}

function missing(id) {
  fill(id, el('p', { class: 'note' }, WORDS.noDetail));
}
