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

/* columns: {head, value(row), number: the unit, or undefined for text} */
function table(caption, columns, rows) {
  const body = el('tbody');
  for (const row of rows) {
    const line = el('tr');
    for (const column of columns) {
      const value = column.value(row);
      const isNumber = column.number !== undefined;
      // The first column says what the row is about.
      const isHead = column === columns[0] && !isNumber;
      line.append(el(isHead ? 'th' : 'td', {
        scope: isHead ? 'row' : null,
        class: isNumber ? 'number' : null,
        'data-value': isNumber && value !== null && value !== undefined ? value : null,
      }, isNumber ? shown(value, column.number) : String(value)));
    }
    body.append(line);
  }
  const head = el('tr');
  for (const column of columns)
    head.append(el('th', { scope: 'col', class: column.number !== undefined ? 'number' : null },
      column.head));
  return el('div', { class: 'scroll' },
    el('table', {}, el('caption', {}, caption), el('thead', {}, head), body));
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
