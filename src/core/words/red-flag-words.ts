import type { RedFlag } from '../../../shared/red-flag.ts';

/**
 * What people say when there is danger, in the notation of `phrase-book.ts`. Of phrases of one flag that overlap the
 * longest decides; of equally long ones the most dangerous. All of it is common practice and memory, no source.
 *
 * `sure`: stop. `doubt`: stop and ask. `harmless`: something else that uses the word.
 */
export interface FlagWords {
  readonly sure: readonly string[];
  readonly doubt: readonly string[];
  readonly harmless: readonly string[];
}

const LIQUID =
  'water|rainwater|rain|beer|cider|wine|tea|coffee|juice|milk|lemonade|soda|squash|drink|cocktail|soup|liquid|fluid|urine|wee|pee|vomit|sick';
// Places where a liquid belongs, or that are only nearby.
const PLACE_FOR_LIQUID =
  'kettle|jug|tank|reservoir|drum|tub|carafe|bottle|glass|cup|mug|can|flask|jar|bowl|sink|basin|bath|shower|pan|pot|vase|bucket|boiler|' +
  'radiator|pipe|tap|hose|pool|pond|fridge|freezer|table|desk|floor|ground|counter|kitchen|garden|street|area|region|' +
  'house|flat|town|morning|evening|afternoon|bed|hand|cafe|saucer|picture|video|film|game';
const BODY =
  'finger|thumb|hand|palm|knuckle|wrist|arm|elbow|shoulder|leg|knee|foot|toe|face|eye|lip|skin|head|chest|neck';
const SELF = 'myself|himself|herself|themselves|ourselves|yourself';
const PERSON =
  'i|we|he|she|they|someone|somebody|child|kid|boy|girl|baby|son|daughter|wife|husband|partner|mother|father|mum|mom|dad|brother|sister|friend|neighbour|neighbor';
const SMELL = 'smell|smelly|odour|odor|stink|stench|reek|whiff|scent|pong';
const BURNT =
  'burn|scorch|singe|melt|char|toast|acrid|smoke|smoky|fire|ozone|electric|electrical|plastic|rubber|overheat|wiring|wire|circuit';
const CELL = 'battery|accumulator|akku|accu|lipo|lithium|powerbank';
const SWOLLEN = 'swell|bulge|bulgy|bloat|puff|puffy|inflate|balloon|expand|deform';
const CAPACITOR = 'capacitor|cap|condenser|condensator|electrolytic|elco|component|resistor';
const BREAKER =
  'breaker|circuit-breaker|rcd|rcbo|rccb|mcb|elcb|gfci|gfi|fusebox|fuse-box|consumer-unit|safety-switch|trip-switch|main-switch|main-fuse';
const OUT = 'go|goes|went|off|out|pop|jump|drop|kick|flip|blow|click|open|fall|cut';
const ALARM_SOUNDS = 'go|ring|sound|beep|trigger|scream|set|start';

export const FLAG_WORDS: Readonly<Record<RedFlag, FlagWords>> = {
  smoke: {
    sure: ['smoke', 'smoking', 'smoked', 'smoky', 'smoulder|smolder', 'fume', 'magic smoke'],
    doubt: [
      'vapour|vapor',
      'steam ... back|vent|inside|behind|speaker|socket|plug|case',
      'i|we|he|she|they|people|parents|husband|wife|owner smoke',
      `smoke alarm|detector|sensor ... ${ALARM_SOUNDS}`,
      'set|trigger ... smoke alarm|detector|sensor',
    ],
    harmless: [
      'smoke alarm|detector|sensor|test|tested|free|machine|break|grey|gray|glass|effect|screen|signal|area|room|zone|ban|gun',
      'smoked glass|plastic|salmon|fish|cheese|meat|acrylic|perspex',
      'non|anti smoke',
      'smoke home|house|household',
      'cigarette|cigar|tobacco|pipe|weed smoke',
      'smoke cigarette|cigar|tobacco|pipe|weed',
      'quit smoke',
      '=smoker',
      '=smokers',
    ],
  },
  flames: {
    sure: [
      'flame',
      'on fire',
      'catch fire',
      'caught fire',
      'set fire',
      'set|put on fire',
      'fire start|come|break|burn',
      'start fire',
      'ablaze',
      '🔥',
    ],
    doubt: [
      'fire',
      'red hot',
      '=flaming',
      'on fire stick|tv|tablet|cube|hd',
      `fire alarm|detector|sensor ... ${ALARM_SOUNDS}`,
    ],
    harmless: [
      'fire stick|tablet|cube|hd|os|wire|wall|place|door|exit|safety|sale|proof|retardant|resistant|alarm|detector|sensor|sticks',
      'fire tv stick|box|cube|app|remote',
      'fire (it|them|the) up',
      'fire up',
      'log|camp|gas|electric|coal fire',
      'flame retardant|effect|war',
      'campfire',
    ],
  },
  bang: {
    sure: [
      'bang',
      'explode',
      'explosion',
      'blow up',
      'loud|big|huge pop|crack|snap|thud|boom',
      'go pop|boom',
      'hear pop|boom|crack',
      'kaboom',
      '💥',
    ],
    doubt: [
      'pop',
      'boom',
      'i|we|you|to|by|if bang',
      'bang on|in|into|against|top|side|back',
      '=banging|=banged it|the|my',
      'blow up image|picture|photo',
    ],
    harmless: [
      'pop up|in|by|round|over|into|back|out|off|music|song|art|along|down|open|it|the',
      '=popup',
      'bang on time|about',
      'bang for (the) buck',
      'slap bang',
      'boom box|barrier|operator',
      `blow up ... ${CAPACITOR}`,
      `${CAPACITOR} blow up`,
    ],
  },
  sparks: {
    sure: [
      'spark',
      'sparking',
      'sparked',
      '=arcing',
      '=arced',
      '=arcs',
      'electric|electrical|blue|bright arc',
      'blue flash',
    ],
    doubt: ['⚡', 'flash ... plug|socket|inside|behind'],
    harmless: ['spark plug|joy|interest|gap', 'bright spark'],
  },
  'burning-smell': {
    sure: [
      `${SMELL} ... ${BURNT}`,
      `${BURNT} ... ${SMELL}`,
      'something burn|melt|scorch',
      'burn plastic|rubber|dust|wire|wiring|cable|hair',
    ],
    doubt: [
      SMELL,
      'fishy',
      'acrid',
      'burn',
      'burning',
      'burned',
      'scorch',
      'singe',
      '=melted',
      '=melting',
      '=melts',
      '=charred',
    ],
    harmless: [
      'burn in|out|through',
      'burn disc|disk|cd|dvd|iso|usb|file|image|program|rom|film|movie|copy',
      'screen|image|logo burn',
      '=burner',
      '=burners',
      'burn question|calories',
      'sense of smell',
      'smell ... gas',
      'gas ... smell',
      `burn|scorch|singe ${BODY}`,
      `burn|scorch ${SELF}`,
    ],
  },
  shock: {
    sure: [
      'get|give|feel|receive|suffer|take ... shock',
      'electric|electrical shock',
      'shock me|him|her|us|them',
      `shock ${SELF}|${BODY}`,
      'shock when|if|while|after|every|each ... touch|plug|hold|open|unplug|switch|clean',
      'touch ... shock|zap',
      'electrocute',
      'electrocution',
      'zap me|him|her|us|them|=myself',
      'get|be zap',
      'current|electricity|mains|voltage through|up|down me|him|her|my|body|arm|hand|finger',
      'tingle ... touch',
      'touch ... tingle',
    ],
    doubt: [
      'shock',
      'zap',
      'tingle',
      'tingly',
      'shock ... cost|price|expensive|bill|news|quote|invoice|read|told',
      'get|give|feel ... shock ... cost|price|expensive|bill|news|quote|invoice',
    ],
    harmless: ['shock absorber|proof|resistant|wave|horror', 'electric shock warning|label|sign|symbol'],
  },
  tripping: {
    sure: [
      'trip',
      'tripping',
      'tripped',
      `${BREAKER} ... ${OUT}`,
      'electrics|electric|electricity|power|light in|through|of ... house|flat|home|kitchen|building|room ... go|off|out|cut|die|trip',
      'electrics|electric|electricity|power|light go|off|out|cut|die ... house|flat|home|kitchen|building|room',
      'whole|entire|all house|flat|home|kitchen|building|street ... dark|off|out|power',
      'knock|take|put|cut|throw|shut off|out ... electrics|electricity|breaker|rcd|house|fuse',
      'knock|take|cut|throw ... electrics|electricity|breaker|rcd out|off',
      'lose|lost power|electricity in|to|through house|flat|home|kitchen|building',
      'electrics go|off|out',
    ],
    doubt: [
      'fuse ... blow|pop',
      'fuse in|of|on plug ... blow|pop|go',
      'blow ... fuse',
      'fuse go|goes|went',
      'everything|all in house|flat|home|kitchen|building ... dark|off|out',
      'trip over|on|up',
      'trip ... cable|cord|lead|wire|flex|carpet|step',
    ],
    harmless: [
      '=trip =to',
      '=trips =to',
      'road|school|business|day|long|short|return|holiday|boat|car|bus|train|wasted|shopping|round trip',
      'a|my|our|his|her|this|another =trip',
      'trip advisor',
      'trip over|on ... cable|cord|lead|wire|flex|carpet|step|it',
    ],
  },
  water: {
    sure: [
      'spill',
      `${LIQUID} in|into|inside|on|onto|over|under|behind|through|down|all`,
      `${LIQUID} (has) get|come|run|drip|go|leak|enter|splash|pour ... in|into|inside|on|onto|over|under|behind|through|down|it`,
      `splash|pour|tip|drip|throw|knock|spray|drop ... ${LIQUID}`,
      'get|become ... wet|damp|soak|drench',
      'be wet|soak|drench|flood|underwater|submerged',
      '=soaked',
      '=drenched',
      '=flooded',
      '=submerged',
      'water|liquid|rain|flood|moisture damage|ingress',
      'in|under|into =water',
      'leave|left|be|stand|stood|sit|sat ... in =rain',
      'rain in|into|through|on|over|onto',
      'drop|fall|land|put ... in|into bath|sink|toilet|pool|pond|sea|lake|river|bucket|puddle|loo',
      'cat|dog|child|kid|baby|puppy pee|peed|peeing|wee|weed|urinate|piss|vomit ... on|in|over|it',
    ],
    doubt: [
      `${LIQUID} come|run|leak|drip|pour ... out|from`,
      '=wet',
      '=damp',
      '=moisture',
      '=condensation',
      'leak',
      'flood',
      'splash',
      `wet cloth|wipe|sponge|paper|tissue|rag`,
    ],
    harmless: [
      `${LIQUID} in|into|inside|on|onto|over|under|down|through ${PLACE_FOR_LIQUID}`,
      `${LIQUID} get|come|run|drip|go|pour ... in|into|on|down ${PLACE_FOR_LIQUID}`,
      '(the) water level',
      'drip ... (the) water level',
      'drip|pour|filter coffee maker|machine|brewer|pot|jug',
      'liquid crystal',
      'splash screen|page|logo|proof',
      'flood light',
      `${CAPACITOR} ... leak`,
      `leak ... ${CAPACITOR}`,
      'light|backlight|memory|data|current|gas|sound|heat|battery leak',
      'leak gas|current|light|memory|heat',
      'leak ... battery',
      'battery ... leak',
      'damp|wet weather',
      'water|rain proof|tight|resistant|resistance|mark',
    ],
  },
  battery: {
    sure: [
      `${CELL} ... ${SWOLLEN}|hot|burst|smoke|melt|burn|fire|overheat|hiss|explode|puncture|pierce|damage|crush`,
      `${SWOLLEN}|hot|smoking|melting|burning|burst|overheating|hissing|exploding|punctured|pierced|damaged|crushed (and|or) (=hot|=swollen|=bulging) ${CELL}`,
      `${SWOLLEN} ... ${CELL}`,
    ],
    doubt: [
      SWOLLEN.replace('|expand|deform|balloon', ''),
      `${CELL} ... warm|leak|fat|thick|bent|round`,
      `leaking|leaky|warm ${CELL}`,
      `leak ... ${CELL}`,
    ],
    harmless: [
      `${CAPACITOR} ... ${SWOLLEN}|dome`,
      `${SWOLLEN} ... ${CAPACITOR}`,
      'puff ... smoke|steam|air|vapour|vapor',
      'inflated price|bill|cost',
      'hot glue ... battery',
      'battery|batteries ... burn out',
    ],
  },
  gas: {
    sure: [
      'smell ... gas',
      'gas ... smell|odour|odor|leak|escape|hiss',
      'leak ... gas',
      'gas leak',
      'carbon monoxide',
    ],
    doubt: ['gas', '=gassy', 'gas hob|cooker|stove|oven|boiler|fire|heater|heating|ring|tap|pipe'],
    harmless: [
      'gas bill|meter|price|man|company|station|supplier|card|mask|mark|pedal|money|tariff|contract|cost',
      'electric|electricity (and) gas bill|price|cost',
      'noble|inert|compressed|duster gas',
      'gas discharge|plasma',
    ],
  },
  hurt: {
    sure: [
      `${PERSON} (be|get) hurt`,
      'be|get hurt',
      'hurt =my|=his|=her|=me|=him|=our|badly',
      `hurt ${SELF}|someone|somebody|${BODY}`,
      `${BODY} hurt`,
      'injure',
      'injury',
      `cut|slice|burn|scald|crush|trap|stab|scratch|pinch|nick|blister|bruise|break|smash ${BODY}`,
      `cut|slice|burn|scald|crush|trap|stab|scratch|pinch|bruise|electrocute ${SELF}`,
      `cut|burn|blister|wound|blood|glass|splinter ... on|in|to ${BODY}`,
      `${PERSON} bleed`,
      `${BODY} ... bleed`,
      'bleed ... badly|lot|heavily|everywhere|finger|hand',
      '=blood',
      '=unconscious',
      'pass|passed =out',
      '=fainted',
      'fall|fell|tip|drop on|onto =me|=him|=her|=us|child|kid|baby|foot|toe|hand|head',
      'in pain',
      'not|cannot|hard|difficult|difficulty|trouble|struggle breathe',
      'chest pain',
      'in|into =my|=his|=her eye',
    ],
    doubt: [
      'hurt',
      'it|set be|get hurt',
      'bleed',
      'hospital',
      'ambulance',
      'paramedic',
      '=casualty',
      '=dizzy',
      '=blister',
      '=blisters',
      '=blistered',
    ],
    harmless: [
      '=hurts|=hurting ... =eyes|=ears|=head|=brain|=wallet|=feelings',
      'hurt =eyes|=ears ... watch|look|read|see|listen',
      'hurt =my|=his|=her|=our|=your =eyes|=ears ... watch|look|read|see|listen',
      'hurt ... =wallet|=feelings|=pocket',
      'hurt =to try|ask|check|look|know',
      'light|backlight|screen|colour|color|edge|lcd|corner|panel bleed',
      'bleed ... light|backlight|colour|color|through|corner|edge',
      'hospital radio|bed',
    ],
  },
};
