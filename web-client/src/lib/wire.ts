// The shapes that cross the wire, as the client reads and writes them.
// Belongs here: types of the HTTP API and of the engine's documents. Does not belong here:
// anything that runs; the words shown for these values are in words.ts.

export type Uuid = string;
/** RFC 3339, UTC. */
export type Instant = string;

export interface Named {
  id: Uuid;
  name: string;
}

export type Role = 'technician' | 'service_manager' | 'scheduler' | 'owner';
export type Qualification = 'sealed_system' | 'three_phase' | 'combustion' | 'electrical';

export interface Shop {
  id: Uuid;
  name: string;
  zone: string;
  currency: string;
  approval_limit_cents: number;
  approval_rules?: ApprovalRules;
  version?: number;
}

export interface ApprovalRules {
  warranty: boolean;
  age_years: number | null;
  disagreement: boolean;
  override: boolean;
}

export interface Person {
  id: Uuid;
  name: string;
  email: string;
  roles: Role[];
  qualifications: Qualification[];
  phone?: string | null;
  licence?: string | null;
  active?: boolean;
}

export interface Me extends Person {
  shop: Shop;
}

export interface SessionRow {
  id: Uuid;
  person: Named;
  agent: string | null;
  created_at: Instant;
  seen_at: Instant;
  current: boolean;
}

// ---------------------------------------------------------------- circuit

export type Caution =
  | 'live_voltage'
  | 'stored_charge'
  | 'moving_parts'
  | 'hot_surface'
  | 'terminal_blowout'
  | 'flammable_refrigerant'
  | 'combustion'
  | 'height';

export interface Place {
  id: string;
  label: string;
  minutes: number;
  cautions?: Caution[];
}

export interface Point {
  id: string;
  label: string;
  place?: string | null;
  needs_lifted?: string[];
  at: [number, number];
}

export interface Component {
  id: string;
  label: string;
  major?: boolean;
  qualification?: string | null;
}

export type PartKind =
  | 'winding'
  | 'lead'
  | 'contact'
  | 'overload'
  | 'capacitor'
  | 'coil'
  | 'switch'
  | 'heater'
  | 'fuse'
  | 'source'
  | 'mechanism';

export interface Mode {
  id: string;
  label: string;
  effect: string;
  prior: number;
  passing?: boolean;
}

export interface Part {
  id: string;
  label: string;
  component: string;
  kind: PartKind;
  between?: [string, string] | null;
  ohm?: number | null;
  microfarad?: number | null;
  volt?: number | null;
  note?: string | null;
  via?: [number, number][];
  modes?: Mode[];
}

export interface Connector {
  id: string;
  label: string;
  place: string;
  minutes: number;
  opens: string[];
}

export interface Sign {
  id: string;
  asks: string;
  minutes?: number;
}

export interface Circuit {
  format: number;
  name: string;
  title: string;
  about: string;
  shell?: string | null;
  places: Place[];
  points: Point[];
  components: Component[];
  parts: Part[];
  connectors?: Connector[];
  signs?: Sign[];
}

export interface CircuitRow {
  name: string;
  title: string;
  about: string;
}

// ---------------------------------------------------------------- case

export type Quantity = 'resistance' | 'insulation' | 'capacitance' | 'voltage' | 'current';
export type Unit = 'ohm' | 'kilohm' | 'megohm' | 'microfarad' | 'volt' | 'ampere';
export type Power = 'off' | 'energised';

export type Shown = { is: 'value'; value: number; unit: Unit } | { is: 'over_limit' } | { is: 'climbing' };

export interface Meter {
  label?: string | null;
  accuracy_pct?: number | null;
  resolution?: number | null;
  highest?: number | null;
  lead_ohm?: number | null;
  zeroed?: boolean | null;
}

export interface ReadingBody {
  quantity: Quantity;
  from: string;
  to: string;
  lifted: string[];
  power: Power;
  shown: Shown;
  part_temp_c?: number | null;
  stopped_min?: number | null;
  meter?: Meter | null;
}

export interface Claim {
  component: string;
  part?: string | null;
  mode?: string | null;
}

// ---------------------------------------------------------------- verdict

export type Outcome = 'isolated' | 'not_isolated' | 'contradicted' | 'inconsistent' | 'incomplete';

export interface ComponentShare {
  component: string;
  label: string;
  share: number;
  claimed: boolean;
  replaceable: boolean;
}

export interface Suspect {
  part: string;
  mode: string;
  component: string;
  label: string;
  share: number;
  not_told_apart_from: string[];
}

export interface Excluded {
  part: string;
  mode: string;
  component: string;
  label: string;
  share: number;
  by: string[];
}

export interface Check {
  id: string;
  title: string;
  result: 'pass' | 'fail' | 'asks' | 'waiting';
  says: string;
  source: string;
  readings: string[];
}

export interface PlannedReading {
  quantity: Quantity;
  from: string;
  to: string;
  lifted: string[];
  label: string;
}

export interface Answer {
  shows: string;
  chance: number;
  means: string;
  leads_to: string;
  share: number;
}

export interface NextTest {
  title: string;
  steps: string[];
  minutes: number;
  cautions: { caution: Caution; says: string }[];
  takes: PlannedReading[];
  sign?: string | null;
  answers: Answer[];
  information_bits: number;
}

export interface ReadingJudged {
  reading: string;
  label: string;
  expected_sound: string;
  expected_leading: string;
  mistaken_share: number;
  used: boolean;
}

export interface Verdict {
  engine: string;
  evidence_digest: string;
  outcome: Outcome;
  sentence: string;
  because: string[];
  claim?: { component: string; part?: string | null; mode?: string | null; label: string; share: number; component_share: number; leave_one_out_share?: number | null; leans_on?: string | null } | null;
  components: ComponentShare[];
  suspects: Suspect[];
  excluded: Excluded[];
  checks: Check[];
  owed: { check: string; says: string; sign?: string | null }[];
  retake: { reading: string; says: string }[];
  next_tests: NextTest[];
  nothing_left: boolean;
  readings: ReadingJudged[];
  considered: { hypotheses: number; singles: number; doubles: number; cut_off: number; unknown_share: number };
}

// ---------------------------------------------------------------- evidence

export interface EvidenceReading {
  id: Uuid;
  label: string;
  reading: ReadingBody;
  taken_by: Named;
  taken_at: Instant;
  struck: { by: Named; at: Instant; reason: string } | null;
}

export interface ObservationRow {
  label: string;
  sign: string;
  present: boolean;
  by: Named;
  at: Instant;
}

export interface Evidence {
  job_id: Uuid;
  revision: number;
  circuit: Circuit;
  readings: EvidenceReading[];
  observations: ObservationRow[];
  verdict: Verdict | null;
  claimless: boolean;
  hidden: 'blind_first' | null;
}

// ---------------------------------------------------------------- jobs

export type Urgency = 'no_heat_vulnerable' | 'water' | 'food_storage' | 'no_heat_cool' | 'comfort';
export type JobState = 'open' | 'assigned' | 'on_site' | 'waiting' | 'done' | 'cancelled';

export interface RequestSummary {
  id: Uuid;
  state: RequestState;
  stage_words: string;
}

export interface BoardJob {
  id: Uuid;
  number: number;
  urgency: Urgency;
  state: JobState;
  complaint: string;
  customer_name: string;
  town: string;
  address: string;
  zone: string;
  unit_label: string;
  circuit: string;
  assigned_to: Named | null;
  window_start: Instant | null;
  window_end: Instant | null;
  request: RequestSummary | null;
  readings_count: number;
  last_change_at: Instant;
  version: number;
}

export interface Board {
  jobs: BoardJob[];
  as_of_live: number;
}

export interface UnitRow {
  id: Uuid;
  label: string;
  maker: string;
  model: string;
  serial: string;
  circuit: string;
  refrigerant: string | null;
  flammable: boolean;
  installed_on: string | null;
  warranty_until: string | null;
}

export interface SiteRow {
  id: Uuid;
  address: string;
  town: string;
  altitude_ft: number | null;
  zone: string;
  notes: string;
  units?: UnitRow[];
}

export interface CustomerRow {
  id: Uuid;
  name: string;
  phone?: string | null;
  email?: string | null;
  sites?: SiteRow[];
}

export interface JobDetail {
  id: Uuid;
  number: number;
  urgency: Urgency;
  state: JobState;
  complaint: string;
  assigned_to: Named | null;
  window_start: Instant | null;
  window_end: Instant | null;
  request: RequestSummary | null;
  version: number;
  unit: UnitRow;
  site: SiteRow;
  customer: CustomerRow;
}

// ---------------------------------------------------------------- condemn request

export type RequestState =
  | 'draft'
  | 'held'
  | 'ready'
  | 'reading'
  | 'revealed'
  | 'sent_back'
  | 'countersigned'
  | 'awaiting_approval'
  | 'approved'
  | 'declined'
  | 'withdrawn'
  | 'overturned';

export type May =
  | 'submit'
  | 'take'
  | 'commit_read'
  | 'countersign'
  | 'send_back'
  | 'hand_on'
  | 'approve'
  | 'decline'
  | 'override'
  | 'withdraw'
  | 'overturn'
  | 'stand_aside';

export type Sure = 'sure' | 'fairly_sure' | 'cannot_tell';

export interface BlindRead {
  id: Uuid;
  reader: Named;
  component: string | null;
  part?: string | null;
  mode?: string | null;
  sure: Sure;
  note: string;
  agrees: boolean;
  void?: boolean;
  revealed_at: Instant | null;
  at: Instant;
}

export interface Owed {
  step: 'evidence' | 'second_read' | 'approval';
  words: string;
  who: Named[];
  done: boolean;
}

export interface CondemnRequest {
  id: Uuid;
  job_id: Uuid;
  job_number: number;
  unit_label: string;
  state: RequestState;
  requester: Named;
  claim: Claim | null;
  hidden: 'blind_first' | null;
  estimated_cost_cents: number | null;
  digest: string | null;
  /** What the requester added to the claim. */
  note?: string | null;
  verdict: Verdict | null;
  judged_at: Instant | null;
  disagreement: boolean;
  void_signatures: number;
  owed: Owed[];
  reads: BlindRead[];
  countersignature: { signer: Named; digest: string; note: string; at: Instant; seconds_since_reveal?: number } | null;
  approval: { approver: Named | null; decision: 'approved' | 'declined'; amount_cents: number | null; reason: string | null; at: Instant } | null;
  override: { by: Named; reason: string; at: Instant; void: boolean } | null;
  events: { at: Instant; actor: Named | null; kind: string; words: string }[];
  may: May[];
  version: number;
}

// ---------------------------------------------------------------- thread and live

export type MessageKind = 'text' | 'reading_card' | 'event';

export interface Message {
  thread_id: Uuid;
  job_id: Uuid;
  seq: number;
  id: Uuid;
  author: Named | null;
  kind: MessageKind;
  body: { text?: string; reading_label?: string; reading_id?: string; event?: string };
  key: string | null;
  at: Instant;
}

export interface ThreadPage {
  /** Absent until the first message. */
  thread_id: Uuid | null;
  last_seq: number;
  messages: Message[];
  members: Named[];
}

export type Topic = 'job' | 'evidence' | 'request' | 'message' | 'session_revoked' | 'mail';

export type FromServer =
  | { type: 'welcome'; version: number; person_id: Uuid; live_seq: number }
  | { type: 'message'; message: Message }
  | { type: 'ack'; key: string; seq: number }
  | { type: 'refused'; key?: string | null; problem: ProblemBody }
  | { type: 'changed'; live_seq: number; topic: Topic; ref_id: Uuid; body: unknown }
  | { type: 'following'; job_id: Uuid; last_seq: number }
  | { type: 'ping' }
  | { type: 'goodbye'; code: number; says: string };

export interface ProblemBody {
  type?: string;
  title?: string;
  status?: number;
  detail?: string;
  errors?: { pointer: string; says: string }[];
}

export interface MailRow {
  id: Uuid;
  to: string;
  to_name?: string | null;
  subject: string;
  text: string;
  sent: boolean;
  sent_at: Instant;
}
