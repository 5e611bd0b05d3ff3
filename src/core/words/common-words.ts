/**
 * Everyday words that are spelt as meant, though one letter makes another word of them: spare and spark, small and
 * smell, shirt and short, back and black. A flow's own words need not be here. Chosen by hand: the commonest English
 * words of four letters and more, and neighbours of words that repairers use.
 */
const WORDS = `
able about above accept access account across actually advice after afternoon again against agree ahead alarm alive
allow allowed almost alone along already also alter although always among amount angle angry another answer anybody
anyone anything anyway apart apparently appear april area around arrive article asked asking attach attempt august aunt
autumn available average avoid away baby back background badly balance ball band bands bank banks barely base based basic
basically bath bear beat beautiful became because become been beer before began begin behind being believe bell belong
below belt bend bent beside best better between beyond bill bird birthday bits black blame blend block blog bloom board boat
body bold bolt bone bonus book boot boots boring born both bother bottle bottom bought bowl box boxes brain brake brakes brand
brave bread break breath breed brick brief bright bring broad brother brought brown brush budget buggy build building built bulb bulk bulky
bullet bunch burden buried bust busy butter button buttons buying cable cables call called calm came camera camp cannot card
care careful carry case cash catch caught cause caused cease cell cent central centre certain certainly chain chair chance
change changed channel channels charge charged chart chase chat cheap cheat check checked cheer cheers cheese chest chick
chief child children chill chip chips choice choose christmas chuck church city claim class clean cleaned clear cleared clearly clever
click clicks client climb clip clock close closed cloth clothes club coach coast coat code coffee cold collect color colour
column come comes comfort coming common company complain complete completely computer condition confirm connect
connected connection consider contact contacts contain contrast control cook cooked cooker cool cooler copy core corner corner cost could
count counter country couple course court cousin cover covers crash crashed cream create credit crew cross crowd crush cruel curve
customer cycle daily damage danger dark data date dated daughter days deal dear death decide deck deep degree delay deliver
depend describe desk despite destroy detail details developed device devices dial died difference different difficult dinner direct direction
dirt dirty disc dish disk display dizzy doctor does doing dollar done door double doubt down download draw dream dress
drink drive driver drop dropped drove during dust dusty duty dvd each earlier early earn earth ears ease easier easily east easy
eater edge effect effort eight either electronic else email empty enable ended engine english enjoy enough ensure enter
entire entirely equal error escape especially evening event ever every everybody everyone everything everywhere exact exactly
example excellent except exchange exist existing expect expected expensive experience expert explain explained explore extend extra eyes
face faces fact factory fail failed faint fair fairly fake fall false family famous fancy fans farm fast fault faults faulty fear feed feel
feeling feet fell fellow felt field fifty fight figure file fill film final finally find finder fine finger finish finished fired firm first fish
five fixed fixer fixing flag flake flare flash flat flesh flew flight flip float flood floor flour flow flower fluff flush focus fold folk follow
following food foot force foreign forget form former forward found four frame frames free freeze french frequent fresh friday friend friends
from front froze frozen fruit full fully funny further future game games garden gave general gently german getting gift girl give given
giving glad glass gloss glue goes going gold gone good grab grade grand grandma grandpa grass great green grew grey grill grip ground group grow
guess guest guide guys habit hair half hall hand handle hang hanging happen happened happy hard hardly hate have having head
headed hear heard heart heat heath heavy height held hello help helped here herself hide high hill himself hold hole holiday home hook
hope horse hose hour hours house however huge human hundred hung hunt hunting hurry husband idea image imagine important inch inches include
increase indeed index information inner insert inserted inside insider install instead insure internet into intro invert issue items itself jack job jobs john join joke july
jump june just keen keep keeps kept kick kids kill kind king kitchen knew knob knock know known label laid lamp land lane laptop large last
late later laugh lead leads leaf lean leap learn lease least leather leave left lens less lesson letter level life lift light lightning like liked likely limit
line lines link list listed listen little live lived living load loaded lock locked long longer look looked looking looks loop loose lord lost lots loud love
lovely lower luck lucky lunch machine made magazine mail main mains make maker makes making manage manager manual many march mark market match
mate matter maybe meal mean meaning means meant measure meat media meet meeting melt member memory mend mental menu mere mess message metal
meter metre middle might mile milk mind mine minor minute minutes mirror miss missed missing mistake mixed mobile mode model moment
monday money monitor month months mood moon more morning most mostly mother motor mount mouse mouth move moved movie movies much
multi music must myself nail name narrow nasty near nearby nearly neat neck need needed needs neither nervous never news newspaper
next nice night nine nobody noise none normal normally north nose note noted nothing notice noticed nowhere number numbers object obvious obviously ocean
october offer office often okay older once ones online only onto open opened opening option orange order ordered ordinary other others otherwise ought
ours outer outside over owner pack packet page paid pain paint pair panel paper parcel parent parents park part parts party pass past
paste patch path pause pausing peace people perfect perhaps period person phone photo photos pick picked picky pictures piece pieces pier pile pilot pink pipe pitch place
placed plain plan plane plastic plate play played player playing plays please plenty plug plugged plugs point points police polish polite pond
poor popular port position positive possible possibly post pound powder practice prefer present press pressed pressing pretty prevent previous
price pride print prize probably problem problems produce product programme programmes promise proof proper properly provide public pull pulled punch purchase
pure push pushed putting quality quarter question quick quickly quiet quit quite quote race radio rain raise rang range rather ratio reach read reader
reading ready real realise really rear reason receive received receiver recent recently record refuse regular relay release rely remain
remember remote remove removed rent repair repaired repeat replace replaced replacement reply report request rescue reset rest result retired return
returned rice rich ride rider right ring rise risk river road rock roof room rooms rope rough round route rows rubber rubbed rule running rush
safe safely safety said sail sale salt same sand satellite saturday save saved saving says scale scan scary scene school science score scrap
screw screws seal search season seat second seconds seek seem seemed seems seen self sell seller send sense sensor sent separate september series serious
serve service session settings seven several shade shake shall shame shape share shark sharp sheet shelf shell shelter shift shine ship shirt
shoe shook shoot shop shops shore short shot should shoulder shout show showed shower showing shown shows shut side sides sight sign signal signs
silly similar simple simply since sing single sister site sits size skill skin skip sleep slice slide slight slightly slim slot slow slower slowly
small smart smile smooth snake snap soap social sock socket sockets socks soft software soil sold solder soldered soldering sole solid solution
solve some someone something sometimes somewhere song soon sorry sort sorted sound source south space spare spares sparkle sparkles sparkling sparse
speak speaker special speed spell spelling spend spent spice spider spin splice split spoke sport sports spread spring square stable stack staff stage stamp
stand standard standing stare staring stars start started starts state stated station stay stayed steal steel stem step steps stereo stick sticky still
stitch stock stocks stole stone stood stool stop stopped stops storage store stored storm story stove straight strand strange stream streaming streams street
strength stretch strip strong stuck student study stuff stupid style subject such sudden suddenly sugar suggest suit sunday supplier
supplies supply support suppose supposed sure surface surge surprise survey sweet swim swing switch switched system tablet take taken takes taking tale
talk tall tape tapped taste tasted teach team tear teeth tell telling temporary terrible test tested tester testing text texts thank thanks that their
them themselves then theory there these they thick thin thing things think thinking thinks third this those though thought thread three threw
throne through throw thursday tick ticks tight till time times tiny tired title today together told tomorrow tonight tools tooth torch torches total
touch touched tough toward tower town trace track trade traffic trail train trait transfer trash travel tray treat tree trend trial
trick tried tries trouble truck true truly trust truth trying tuesday tube tune tuned turn turned twelve twenty twice twin type
under understand unit unless until unusual update updated upon upset upstairs used useful useless user uses using usual usually value various
vast very video view viewing visible visit voice volts volume wait waited waiting wake walk wall want wanted warm warn warning warranty wash washed
wasted watch watched watching wave weak wear weather website wednesday week weekend weeks weight well went were west what whatever wheel when
where which while white whole whose wide wife wild will wind window windows wine winter wipe wiped wire wires wise wish with within without witness
woman wonder wood wooden word words wore work worked worker working works world worn worried worry worse worst worth would wrist write writing
written wrong wrote yard year years yellow yesterday young your yours yourself zero zone state remove attack scene prince font stats witch shade scare blind strap greet
advise adapt appeal arrest acid cache colon compress consume crank displace expand expanse factor fond formal grass liner noisy
raid raise relate replay retain revolution router sever spite split starve strain strike stripe strive struck tied tree vice violent spray stray
`;

export const commonWords: ReadonlySet<string> = new Set(WORDS.trim().split(/\s+/));
