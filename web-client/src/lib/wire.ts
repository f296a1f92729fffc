// The shapes that cross the wire, under the names the client uses.
// Belongs here: names for generated types (api-types.ts), and what the document cannot say:
// states as literals, pairs as pairs, the live stream. Does not belong here: anything that
// runs; the words shown for these values are in words.ts.
import type { components } from './api-types';

type Api = components['schemas'];
/** A generated type with some fields told more exactly. */
type With<T, Exact> = Omit<T, keyof Exact> & Exact;
/** Fields that a circuit file may leave out and a test may too; the API always sends them. */
type Loose<T, Key extends keyof T> = Omit<T, Key> & Partial<Pick<T, Key>>;

export type Uuid = string;
/** RFC 3339, UTC. */
export type Instant = string;

export type Named = Api['PersonRef'];
export type Role = Api['Role'];
export type Qualification = Api['Qualification'];
export type Shop = Api['Shop'];
export type Policy = Api['Policy'];
export type ThresholdChange = Api['ThresholdChange'];
export type Person = Api['Person'];
export type Me = Api['Me'];
export type SessionRow = Api['Session'];

// ---------------------------------------------------------------- circuit

export type Caution = Api['Caution'];
export type Place = Loose<Api['Place'], 'cautions'>;
export type Point = With<Api['Point'], { at: [number, number] }>;
export type Component = Loose<Api['Component'], 'major'>;
export type PartKind = Api['PartKind'];
export type Mode = Loose<Api['Mode'], 'passing'>;
export type Part = With<Loose<Api['Part'], 'copper'>, { between?: [string, string] | null; via?: [number, number][]; modes?: Mode[] }>;
export type Connector = Api['Connector'];
export type Sign = Loose<Api['Sign'], 'minutes' | 'explained_by'>;
export type Circuit = With<Loose<Api['Circuit'], 'checks'>, { places: Place[]; points: Point[]; components: Component[]; parts: Part[]; connectors?: Connector[]; signs?: Sign[] }>;
export type CircuitRow = Api['CircuitListed'];
export type CircuitVersion = Api['CircuitVersion'];
export type CircuitUnit = Api['CircuitUnit'];
export type CircuitLooked = With<Api['CircuitLooked'], { circuit: Circuit }>;

// ---------------------------------------------------------------- case and verdict

export type Quantity = Api['Quantity'];
export type Unit = Api['Unit'];
export type Power = Api['Power'];
export type Shown = Api['Shown'];
export type Meter = Api['Meter'];
export type MeterHeld = Api['MeterHeld'];
export type MeterPut = Api['MeterPut'];
export type ReadingBody = With<Api['NewReading'], { lifted: string[] }>;
export type Claim = Api['Claim'];

export type Outcome = Api['Outcome'];
export type ComponentShare = Api['ComponentShare'];
export type Check = Api['Check'];
export type PlannedReading = Api['PlannedReading'];
export type NextTest = Api['NextTest'];
export type Verdict = Api['Verdict'];
export type Explained = Api['Explained'];
export type Waterfall = Api['Waterfall'];
export type TestPlan = Api['TestPlan'];
export type PlanBranch = Api['PlanBranch'];

// ---------------------------------------------------------------- evidence

export type EvidenceReading = With<Api['EvidenceReading'], { reading: ReadingBody }>;
export type ObservationRow = Api['EvidenceObservation'];
export type Evidence = With<Api['Evidence'], { circuit: Circuit; readings: EvidenceReading[]; verdict: Verdict | null }>;

// ---------------------------------------------------------------- what calls turned out to be

export type FoundHow = Api['FoundHow'];
export type SayFound = Api['SayFound'];
export type FoundWord = Api['FoundWord'];
export type JobFound = Api['JobFound'];
export type FoundKind = Api['FoundKind'];
export type ShopFound = Api['ShopFound'];

// ---------------------------------------------------------------- jobs

export type Urgency = Api['Urgency'];
export type JobState = Api['JobState'];
export type RequestSummary = With<Api['RequestSummary'], { state: RequestState }>;
/** The API sends null where there is none, never nothing. */
type Given = { assigned_to: Named | null; window_start: Instant | null; window_end: Instant | null; planned_start: Instant | null; planned_end: Instant | null; not_before: Instant | null; request: RequestSummary | null };
export type BoardJob = With<Api['BoardJob'], Given>;
export type Board = With<Api['Board'], { jobs: BoardJob[]; next: string | null; matching: number | null }>;
export type BoardCounts = Api['BoardCounts'];
export type Work = Api['Work'];
export type JobEvent = With<Api['JobEvent'], { actor: Named | null }>;
export type Answer = Api['CallAnswer'];
export type Answers = Partial<Record<keyof Api['CallAnswers'], Answer>>;
export type IntakePage = Api['IntakePage'];
export type CustomerFinds = Api['CustomerFinds'];
export type FoundCustomer = Api['FoundCustomer'];
export type Spec = Api['Spec'];
export type UnitRow = With<Api['UnitHeld'], { specs: Record<string, Spec> }>;
export type SiteRow = Api['Site'] & { units?: UnitRow[] };
export type CustomerRow = Api['Customer'] & { sites?: SiteRow[] };
export type JobDetail = With<Api['JobWhole'], Given & { unit: UnitRow; intake: With<Api['Intake'], { overruled: string | null }> | null; outdoor_f: number | null }>;
/** What is in the way of a planned time, and the next one that is free. */
export type Overlap = Api['Overlap'];

// ---------------------------------------------------------------- plan

export type PlanPlace = Api['PlanPlace'];
export type PlanPerson = With<Api['PlanPerson'], { driven_min: [number, number]; work_min: [number, number] }>;
export type PlanJob = With<Api['PlanJob'], { before?: PlanPlace | null; after?: PlanPlace | null }>;
export type Plan = With<Api['Plan'], { people: PlanPerson[]; jobs: PlanJob[] }>;
export type PlanRow = Api['PlanRow'];
export type Ways = Api['Ways'];

// ---------------------------------------------------------------- condemn request

export type RequestState =
  | 'draft' | 'held' | 'ready' | 'reading' | 'revealed' | 'sent_back' | 'countersigned'
  | 'awaiting_approval' | 'approved' | 'declined' | 'withdrawn' | 'overturned';

export type May =
  | 'submit' | 'take' | 'commit_read' | 'countersign' | 'send_back' | 'hand_on'
  | 'approve' | 'decline' | 'override' | 'withdraw' | 'overturn' | 'stand_aside';

export type Sure = Api['SureShape'];
export type BlindRead = With<Api['Read'], { sure: Sure }>;
export type Owed = With<Api['OwedStep'], { step: 'evidence' | 'second_read' | 'approval'; who: Named[] }>;
export type CondemnRequest = With<Api['Request'], { state: RequestState; may: May[]; owed: Owed[]; reads: BlindRead[]; verdict: Verdict | null; digest: string | null }>;

export type Ladder = Api['Ladder'];
export type Rung = Api['Rung'];
export type Standing = Api['Standing'];
export type StandingLadder = Api['StandingLadder'];
export type LadderKind = 'second_read' | 'urgent_job' | 'approval';
export type StepWho = Api['StepWho'];
export type LadderStep = Api['LadderStep'];
type LadderSteps = { week: LadderStep[]; weekend: LadderStep[] | null };
export type ShopLadders = With<Api['ShopLadders'], Record<LadderKind, LadderSteps> & { quiet: Api['QuietHours'] | null }>;
export type LadderSetting = With<Api['LadderSetting'], { ladders: ShopLadders; shipped: ShopLadders }>;
export type LadderStory = Api['LadderStory'];
export type PersonQuiet = Api['PersonQuiet'];
export type Delegate = Api['Delegate'];
export type RotaFeed = Api['RotaFeed'];
export type Holdover = Api['Holdover'];
export type HoldoverAsks = Api['HoldoverAsks'];
export type Deferred = Api['Deferred'];
export type WorseLink = Api['WorseLink'];
export type ReaderAsk = Api['ReaderAsk'];
export type CandidateList = Api['CandidateList'];
export type ReaderPair = Api['ReaderPair'];
export type GuestLink = Api['GuestLink'];
export type GuestLinkMade = Api['GuestLinkMade'];
export type GuestInvitation = Api['GuestInvitation'];
export type GuestCase = With<Api['GuestCaseShape'], { evidence: Evidence; request: CondemnRequest }>;

// ---------------------------------------------------------------- rota

export type DutyKind = Api['DutyKind'];
export type Span = Api['Span'];
export type RotaEntry = Api['RotaEntry'];
export type RotaDay = With<Api['RotaDay'], { holiday: string | null }>;
export type Rota = With<Api['Rota'], { days: RotaDay[] }>;
export type RotaEntryDone = Api['RotaEntryDone'];
export type OnDuty = Api['OnDuty'];
export type DutyNow = Api['DutyNow'];
export type Swap = Api['Swap'];
export type Leave = Api['Leave'];
export type PatternApplied = Api['PatternApplied'];
export type SecondOpened = Api['SecondOpened'];
export type Fairness = Api['Fairness'];
export type PersonBurden = Api['PersonBurden'];
export type CalendarPut = Api['CalendarPut'];
export type ShopCalendar = Api['ShopCalendar'];

// ---------------------------------------------------------------- thread, live, the rest

export type MessageKind = Api['MessageKindShape'];
export type Message = Api['MessageShape'];
export type ThreadPage = Api['ThreadShape'];
export type Member = Api['MemberShape'];
export type Ask = With<Api['Ask'], { lifted: string[]; why: string }>;
export type FilledAsk = Api['FilledAsk'];
export type FoundMessage = Api['FoundMessage'];
export type KeptPhoto = Api['KeptPhoto'];
export type CapacityOutlook = Api['CapacityOutlook'];
export type CapacityHour = Api['CapacityHour'];
export type CapacityPart = Api['CapacityPart'];
export type CapacityRule = Api['CapacityRule'];
export type CapacitySettings = Api['CapacitySettings'];
export type RuleAction = Api['RuleAction'];
export type RuleState = Api['RuleState'];
/** The document flattens a version into its rule; the client reads the two as one. */
export type RuleVersion = Api['RuleVersion'];
export type RuleRow = Api['Rule'];
export type RuleFiring = With<Api['RuleFiring'], { values: Record<string, boolean | number | string>; outcomes: { do: string; done: boolean; says: string }[] }>;
export type RuleList = With<Api['Rules'], { rules: RuleRow[]; firings: RuleFiring[] }>;
export type RuleStory = With<Api['RuleStory'], { rule: RuleRow; versions: RuleVersion[]; firings: RuleFiring[] }>;
export type RuleVariable = Api['RuleVariable'];
export type RuleNew = Api['RuleNew'];
export type RuleRehearsal = Api['RuleRehearsal'];
export type ConditionChecked = Api['ConditionChecked'];
export type MailRow = Api['Mail'];
export type DemoSignIn = Api['DemoSignIn'];

export interface ProblemBody {
  type?: string;
  title?: string;
  status?: number;
  detail?: string;
  errors?: { pointer: string; says: string; line?: number | null; path?: string | null }[];
  overlap?: Overlap | null;
}

export type Topic = 'job' | 'evidence' | 'request' | 'message' | 'session_revoked' | 'mail' | 'asked' | 'ladders' | 'standing' | 'rule' | 'capacity' | 'rota' | 'plan';

/** Frames of the live stream, version 1; the OpenAPI document does not cover it. */
export type FromServer =
  | { type: 'welcome'; version: number; person_id: Uuid; live_seq: number }
  | { type: 'message'; message: Message }
  | { type: 'ack'; key: string; seq: number }
  | { type: 'refused'; key?: string | null; problem: ProblemBody }
  | { type: 'changed'; live_seq: number; topic: Topic; ref_id: Uuid; body: unknown; row?: BoardJob }
  | { type: 'following'; job_id: Uuid; last_seq: number }
  | { type: 'presence'; job_id: Uuid; looking: Named[] }
  | { type: 'typing'; job_id: Uuid; person_id: Uuid }
  | { type: 'marked'; job_id: Uuid; person_id: Uuid; seen_seq: number }
  | { type: 'ping' }
  | { type: 'goodbye'; code: number; says: string };
