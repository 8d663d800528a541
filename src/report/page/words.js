/* words.js - what the page says in fixed words, in one place */
const WORDS = {
  outcomes: {
    received: 'received',
    lost_collision: 'lost: broken by others',
    lost_busy: 'lost: was receiving another frame',
    lost_sending: 'lost: was sending itself',
    lost_blocked: 'lost: drowned by its own other radio',
  },
  blame: {
    'own-radio': 'the same node’s other radio',
    neighbour: 'a neighbour within 30 m',
    mesh: 'farther away in the mesh',
    ambient: 'other people’s traffic',
  },
  decisions: {
    send: 'will send it on',
    delay: 'lets it wait for a quieter channel',
    collect: 'collects it for a digest',
    'no-relay': 'does not relay there',
    'hop-limit': 'does not send it on: it has come as far as it may',
    'is-waiting': 'has it waiting to be sent there already',
    'held-back': 'holds it back',
    policy: 'does not send it on: the flooding policy says no',
  },
  causes: {
    queue: 'its queue is full',
    expired: 'it has waited too long',
    size: 'it is too long for the bearer',
    cancelled: 'enough copies were heard',
  },
  chosen: {
    'reached-all': 'came to all',
    'missed-some': 'missed some',
    first: 'the first one',
  },
  colours: {
    delivery: 'delivery to the node',
    load: 'time that it sends',
    loss: 'receptions that it loses',
  },
  delays: 'Delays are those of what arrives: they may rise because more arrives from far away, and fall because ' +
    'less does. A change is undecided where its interval holds 0; that is not the same as no change.',
  noDetail: 'This result holds measures only. For this part, run the scenario with details: ' +
    'spate compare SCENARIO --format json --detail, or with --report FILE.html at once.',
  palette: 'Colours of variants and outcomes: M. Okabe and K. Ito, Color Universal Design, 2008; of ' +
    'scales: cividis, J. R. Nuñez, C. R. Anderton and R. S. Renslow, PLoS ONE 13(7), 2018. Both can be ' +
    'told apart with any colour vision; shapes and dashes say the same once more.',
};
