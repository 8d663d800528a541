/* words.js - what the page says in fixed words, in one place */
const WORDS = {
  outcomes: {
    received: 'received',
    lost_collision: 'lost: broken by others',
    lost_busy: 'lost: was receiving another frame',
    lost_sending: 'lost: was sending itself',
    lost_blocked: 'lost: blocked by its own other radio',
    lost_asleep: 'lost: was asleep',
  },
  blame: {
    'own-radio': 'the same node’s other radio',
    neighbour: 'a neighbour within 30 m',
    mesh: 'farther away in the mesh',
    ambient: 'other people’s traffic',
  },
  decisions: {
    send: 'will relay it',
    delay: 'delays it until the channel is quieter',
    collect: 'collects it for a digest',
    'no-relay': 'does not relay there',
    'hop-limit': 'does not relay it: its hop limit is reached',
    'is-waiting': 'already has it waiting to be sent there',
    'held-back': 'holds it back',
    policy: 'does not relay it: its flooding policy refuses',
  },
  causes: {
    queue: 'its queue is full',
    expired: 'it has waited too long',
    size: 'it is too long for the bearer',
    cancelled: 'enough copies were heard',
    outage: 'its node went down',
  },
  chosen: {
    'reached-all': 'reached all',
    'missed-some': 'missed some',
    first: 'the first one',
  },
  colours: {
    delivery: 'delivery to the node',
    load: 'time it sends',
    loss: 'receptions it loses',
  },
  delays: 'Delays cover only what arrives: they may rise because more arrives from far away, and fall because ' +
    'less does. A change is undecided where its interval contains 0; that is not the same as no change.',
  noDetail: 'This result has measures only. For this part, run the scenario with details: ' +
    'spate compare SCENARIO --format json --detail, or with --report FILE.html.',
  palette: 'Colours of variants and outcomes: M. Okabe and K. Ito, Color Universal Design, 2008; of ' +
    'scales: cividis, J. R. Nuñez, C. R. Anderton and R. S. Renslow, PLoS ONE 13(7), 2018. Both can be ' +
    'distinguished with any colour vision; shapes and dashes repeat the distinction.',
};
