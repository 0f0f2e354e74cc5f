/* The test sheet of an engine: what each bench test reads on a good unit, how far a good one may be off,
 * and what it reads with a fault.
 *
 *   good        the procedure run on the engine as its file has it; a running test is the mean of five
 *               stretches
 *   tolerance   sqrt(scatter^2 + resolution^2 + unit^2)
 *     scatter     twice the standard deviation of those stretches: what cycle scatter does to one reading
 *     resolution  one count of the instrument: service 01 scaling (SAE J1979), or a voltmeter's 0.01 V
 *     unit        unit-to-unit: root of the sum of squares of what each of sheet_allowances does to the
 *                 reading in the model, and of what the row states outright
 *   departure   the same procedure with one fault of car/fault_rows.h; seen if further off than the
 *               tolerance
 *
 * The work is parted into jobs, one simulation each, which may run side by side: sheet_run_job()
 * writes to its own job only. */
#ifndef ANALYSIS_TESTSHEET_SHEET_H
#define ANALYSIS_TESTSHEET_SHEET_H

#include "analysis/testsheet/sheet_procedure.h"
#include "car/caution.h"

#include <stddef.h>

/* SECTION(name, heading, what it is for) */
#define SHEET_SECTION_LIST(SECTION) \
  SECTION(supply, "Battery and motor supply", "Is there power where the throttle drive takes it, and only then?") \
  SECTION(movement, "Blade movement", "Does the blade go where it is told, and how hard is that for the motor?") \
  SECTION(tracks, "Blade position tracks", "Do both tracks say where the blade is?") \
  SECTION(pedal, "Pedal tracks", "Do both tracks say where the pedal is?") \
  SECTION(bore, "Bore and springs", "Is there a gap at the closed stop, and do springs alone move the blade?") \
  SECTION(air, "Air flow and manifold pressure", "How much air does the engine take, and who measures it?") \
  SECTION(mixture, "Fuel trims", "What does the computer correct?") \
  SECTION(idle, "Idle", "What does it take to hold the idle speed?")

enum sheet_section {
#define SECTION(name, heading, text) SHEET_SECTION_##name,
  SHEET_SECTION_LIST(SECTION)
#undef SECTION
      SHEET_SECTION_COUNT
};
struct sheet_section_row {
  const char *name, *heading, *text;
};
extern const struct sheet_section_row sheet_sections[SHEET_SECTION_COUNT];

/* One stretch of a recording, as a row's own function sees it. */
struct sheet_view {
  const struct engine *engine;
  const struct recording *recording;
  double from_s, to_s;
};

enum sheet_statistic { SHEET_MEAN, SHEET_LEAST, SHEET_MOST };

struct sheet_row {
  const char *id; // name at the edge
  const char *title;
  const char *where; // leads, or what to read
  const char *note;  // what the trade knows of it; NULL for none
  enum sheet_section section;
  enum sheet_procedure_window window;
  enum channel channel;
  enum sheet_statistic statistic;
  double (*value)(const struct sheet_view *view); // instead of channel and statistic; NaN: the engine has no such thing
  const char *unit;
  int decimals;
  double resolution;            // one count of the instrument
  bool less_is_good;            // an error, a step back: less than that of a good unit is no departure
  double stated;                // unit-to-unit allowance beside the computed ones; 0 for none
  unsigned steps;               // what it takes on the car: bits of enum caution_step
  bool torch;                   // judged by light, not in numbers: caution_torch() says how, sheet_light() what is seen
  double usual_low, usual_high; // range of the trade, instead of the computed one; both 0 for none
};
extern const struct sheet_row sheet_rows[];
extern const size_t sheet_row_count;

enum { SHEET_SET_MAX = 3 };

struct sheet_set {
  const char *condition; // name at the edge; NULL after the last
  double value;          // user's unit
};

struct sheet_fault {
  const char *label; // "a film of 60 um on the bore wall"
  struct sheet_set sets[SHEET_SET_MAX];
  unsigned needs;      // bits of enum feature, beyond what the conditions need
  unsigned procedures; // bits 1 << enum sheet_procedure
  unsigned sections;   // where its readings are told: bits 1 << enum sheet_section
  unsigned steps;      // what that takes on the car: bits of enum caution_step
  const char *meaning; // what to do next
};
extern const struct sheet_fault sheet_fault_rows[];
extern const size_t sheet_fault_count;

/* Bits of enum feature that an engine must have for these conditions, and for what is beyond them. */
unsigned sheet_needs(const struct sheet_set *sets, unsigned beyond);

/* How one good unit, or one day, may differ from another. */
struct sheet_allowance {
  const char *text;
  struct sheet_set sets[SHEET_SET_MAX];
  double clearance_m; // added to the bore's clearance
  unsigned procedures;
};
extern const struct sheet_allowance sheet_allowances[];
extern const size_t sheet_allowance_count;

enum { SHEET_ROW_MAX = 80, SHEET_JOB_MAX = 160, SHEET_DEPARTURE_MAX = 56 };

enum sheet_job_kind { SHEET_JOB_GOOD, SHEET_JOB_ALLOWANCE, SHEET_JOB_FAULT };

/* One simulation, and what every row of its procedure reads in it; NaN where nothing can be read. */
struct sheet_job {
  enum sheet_procedure procedure;
  enum sheet_job_kind kind;
  size_t index; // of the allowance or the fault
  double value[SHEET_ROW_MAX];
  double scatter[SHEET_ROW_MAX]; // standard deviation of the stretches; 0 for one stretch
};

struct sheet_departure {
  const struct sheet_fault *fault;
  double value; // NaN: nothing to read, the engine does not keep running
  bool seen;    // further off than the tolerance
};

struct sheet_reading {
  const struct sheet_row *row;
  double good, tolerance;
  double low, high;                 // low is never below 0 for what cannot be
  double scatter, resolution, unit; // parts of the tolerance
  unsigned cautions;                // bits of enum caution: for the test itself
  size_t departure_count;
  struct sheet_departure departures[SHEET_DEPARTURE_MAX]; // seen ones first, highest reading first
};

struct sheet {
  const struct engine *engine;
  size_t job_count;
  struct sheet_job jobs[SHEET_JOB_MAX];
  size_t reading_count; // rows that apply to this engine
  struct sheet_reading readings[SHEET_ROW_MAX];
  unsigned cautions; // all that appear: of the tests and of what a departure sends to do
};

/* Lists the jobs. The engine must outlive the sheet; the struct is large: not for the stack. */
void sheet_init(struct sheet *sheet, const struct engine *engine);

/* Simulates one job; several may run at once in different threads. */
MUST_CHECK enum status sheet_run_job(struct sheet *sheet, size_t job, struct error *error);

/* When all jobs are done: readings, tolerances, departures. */
void sheet_finish(struct sheet *sheet);

/* What the trade knows of a reading in numbers of this engine ("1.6 g/s per litre"); empty for nothing. */
void sheet_remark(const struct sheet *sheet, const struct sheet_reading *reading, char *text, size_t size);

/* Cautions, bits of enum caution, for what a departure sends somebody to do on this engine. */
unsigned sheet_departure_cautions(const struct sheet *sheet, const struct sheet_departure *departure);

/* What a torch shows where the gap is so large, beside a good unit's: "light all round", "none", "on one side". */
const char *sheet_light(const struct sheet_reading *reading, double value);

/* Where the leads go, or what to read, on this engine. */
const char *sheet_where(const struct sheet *sheet, const struct sheet_reading *reading);

/* The reading with this id, NULL if it does not apply. */
const struct sheet_reading *sheet_find(const struct sheet *sheet, const char *id);

#endif
