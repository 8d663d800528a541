/* model.js - the scenario's text, the uncertain inputs, and what the model leaves out */
function doubtTable() {
  if (!RESULT.doubts || RESULT.doubts.length === 0) return [];
  return [el('p', {}, 'These inputs are uncertain; each run drew them anew:'), table('Uncertain inputs', [
    { head: 'input', value: (doubt) => doubt.path },
    { head: 'from', value: (doubt) => `${doubt.low} ${doubt.unit}` },
    { head: 'to', value: (doubt) => `${doubt.high} ${doubt.unit}` },
  ], RESULT.doubts)];
}

function drawScenario() {
  const facts = [el('p', {}, `${RESULT.replications} run${RESULT.replications === 1 ? '' : 's'} of ${duration(RESULT.duration_s)}` +
    `${RESULT.warm_up_s > 0 ? `, counted after ${duration(RESULT.warm_up_s)}` : ''}; seed ${RESULT.seed}; spate ${RESULT.version}. ` +
    'The same file, seed and version give the same numbers.')];
  if (DETAIL && DETAIL.variants.some((variant) => variant.summary))
    facts.push(el('ul', {}, ...DETAIL.variants.filter((variant) => variant.summary)
      .map((variant) => el('li', {}, `${variant.name}: ${variant.summary}`))));
  if (DETAIL && DETAIL.settings.length > 0)
    facts.push(el('p', {}, 'Set on the command line: ', el('code', {}, DETAIL.settings.join('; '))));
  facts.push(...doubtTable());
  if (DETAIL && DETAIL.text)
    facts.push(el('details', {}, el('summary', {}, 'The scenario file'), el('pre', { tabindex: 0 }, DETAIL.text)));
  else
    facts.push(el('p', { class: 'note' }, DETAIL ? 'The text of the scenario is not part of this page.' : WORDS.noDetail));
  fill('scenario', ...facts);
}

function drawModel() {
  if (!DETAIL) return missing('model');
  return fill('model', table('What is left out, and its likely effect on conclusions', [
    { head: 'left out', value: (row) => row.what },
    { head: 'likely effect', value: (row) => row.effect },
  ], DETAIL.left_out));
}
