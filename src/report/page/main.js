/* main.js - draws the page, and draws anew what a choice changes */
let chosenVariant = 0;

function drawHead() {
  const title = RESULT.scenario.title || 'A radio mesh, simulated';
  document.title = title;
  clear(document.getElementById('title')).append(title);
  clear(document.getElementById('facts')).append(`A simulation by spate: ${RESULT.replications} ` +
    `run${RESULT.replications === 1 ? '' : 's'} of ${duration(RESULT.duration_s)}` +
    `${VARIANTS.length > 1 ? `, ${VARIANTS.length} variants` : ''}.`);
  clear(document.getElementById('made')).append(`Made by spate ${RESULT.version} from its result; this page loads nothing ` +
    'from anywhere.');
}

function variantControls() {
  if (!DETAIL || VARIANTS.length < 2) return;
  const set = el('fieldset', {}, el('legend', {}, 'Variant shown below'));
  VARIANTS.forEach((name, i) => {
    const input = el('input', { type: 'radio', name: 'variant', value: i });
    input.checked = i === chosenVariant;
    input.addEventListener('change', () => {
      chosenVariant = i;
      drawVariant();
    });
    set.append(el('label', {}, input, name));
  });
  document.getElementById('comparison').after(el('div', { class: 'bar' }, set));
}

function drawVariant() {
  for (const draw of [drawMap, drawLosses, drawAirtime, drawHops, drawReplay]) draw(chosenVariant);
}

function drawPage() {
  drawHead();
  drawAnswer();
  drawComparison();
  variantControls();
  drawVariant();
  drawScenario();
  drawModel();
  document.documentElement.dataset.ready = 'yes';
  performance.mark('ready');
}

drawPage();
