/* libbladegap: how a deposit in a throttle bore starves an idling engine of air, for whoever wants to call it.
 *
 * An engine is a model of a kind of engine, not a car. What comes out is what that model says, and how sure it is.
 *
 *   char error[BLADEGAP_ERROR_SIZE];
 *   bladegap_engine *engine = bladegap_engine_shipped("four-16", error, sizeof error);
 *   if (!engine) { puts(error); return 1; }
 *   if (bladegap_engine_set(engine, "film_um", 60, error, sizeof error)) puts(error);
 *   bladegap_point *point = bladegap_settle(engine, error, sizeof error);
 *   double rpm;
 *   if (point && bladegap_point_value(point, "speed_rpm", &rpm, error, sizeof error) == 0)
 *     printf("%s at %.0f rpm\n", bladegap_point_outcome(point), rpm);
 *   bladegap_point_destroy(point);
 *   bladegap_engine_destroy(engine);
 *
 * Names.    Engines, conditions and faults, parameters, channels, readings: as bladegap_list() gives them. A name ends in its
 *           unit (film_um, speed_rpm, maf_gps), and every number is in that unit. A mistyped name is answered with the nearest.
 * Errors.   A function that can fail ends in (char *error, size_t error_size): a text for people goes there, cut to size, ""
 *           if all went well; NULL for none. It returns 0, or a code of bladegap_status; where it returns a pointer, NULL.
 *           A failed call changes nothing but where it says so. A NULL handle or name is an error, no crash. Texts of errors
 *           name the program's options where the library has a call or an option of that name (--set, --trust, --pairs).
 * Memory.   What a function named ..._create, _shipped, _copy, or one that returns a handle gives belongs to the caller,
 *           who ends it with the _destroy of its kind; NULL may be destroyed. A handle holds all that it needs: an engine may
 *           be destroyed while runs, points and estimates made from it live on. Strings returned live as long as their handle.
 * Threads.  Nothing is shared between handles: each may be used by any thread, one at a time. Functions that take a const
 *           handle may be called for the same handle by several threads at once.
 * Numbers.  NaN is "nothing": an engine without such a channel, a cell without a number. With the same library the same calls
 *           give the same bytes. Nothing is printed, no file is read or written, no locale matters to what is read.
 */
#ifndef BLADEGAP_H
#define BLADEGAP_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#if defined(__GNUC__)
#define BLADEGAP_API __attribute__((visibility("default")))
#else
#define BLADEGAP_API
#endif

/* Why a call failed; the program's exit codes, bladegap_list("exit-codes"). */
enum bladegap_status {
  BLADEGAP_OK = 0,
  BLADEGAP_USAGE = 64,      // a name, a value or an order of calls that cannot be
  BLADEGAP_BAD_DATA = 65,   // readings that cannot be used
  BLADEGAP_INTERNAL = 70,   // the solver failed, or the library itself
  BLADEGAP_NO_MEMORY = 71,  // out of memory
  BLADEGAP_BAD_CONFIG = 78, // a record that cannot be used, or an engine that does not idle where a run was to begin
};

enum { BLADEGAP_ERROR_SIZE = 8192 }; // holds every text whole; less will do

/* "MAJOR.MINOR.PATCH"; what runs with one MAJOR runs with every later one of it. */
BLADEGAP_API const char *bladegap_version(void);

/* ---- Tables: rows of cells, each a text, a number, or nothing ---- */

typedef struct bladegap_table bladegap_table;

/* What there is, by kind:
 *   engines      name, title
 *   channels     name, decimals, seen_by, text            what a point, a sweep or a run gives back
 *   faults       name, kind, min, max, start, needs, text  conditions that can be set: faults, loads, driver, world
 *   parameters   group, key, kind, min, max, default, text   of an engine; a number or a switch can be set as "group.key"
 *   codes        code, definition, condition, not_tested_if
 *   readings     name, read_at, with, resolution, text    what an estimate takes
 *   conditions   name, minutes, text                      where it takes them
 *   causes       name, severity, least, most, text        what it looks for
 *   costs        key, least, most, usual, text            what it weighs: of mending each cause, of a search, of a comeback
 *   exit-codes   code, text */
BLADEGAP_API bladegap_table *bladegap_list(const char *kind, char *error, size_t error_size);

/* 0 for NULL. */
BLADEGAP_API size_t bladegap_table_row_count(const bladegap_table *table);
BLADEGAP_API size_t bladegap_table_column_count(const bladegap_table *table);

/* Name of a column, from 0; NULL if there is none. */
BLADEGAP_API const char *bladegap_table_column(const bladegap_table *table, size_t index);

/* A cell, rows from 0. text: NULL where it is a number or nothing; number: NaN where it is a text or nothing. */
BLADEGAP_API int bladegap_table_text(const bladegap_table *table, size_t row, const char *column, const char **text, char *error,
                                     size_t error_size);
BLADEGAP_API int bladegap_table_number(const bladegap_table *table, size_t row, const char *column, double *number, char *error,
                                       size_t error_size);

/* A whole column of numbers: count must be the number of rows. */
BLADEGAP_API int bladegap_table_numbers(const bladegap_table *table, const char *column, double *numbers, size_t count,
                                        char *error, size_t error_size);
BLADEGAP_API void bladegap_table_destroy(bladegap_table *table);

/* ---- Engines ---- */

typedef struct bladegap_engine bladegap_engine;

/* An engine of bladegap_list("engines"), new, warm and idling with nothing switched on. */
BLADEGAP_API bladegap_engine *bladegap_engine_shipped(const char *name, char *error, size_t error_size);
BLADEGAP_API bladegap_engine *bladegap_engine_copy(const bladegap_engine *engine, char *error, size_t error_size);
BLADEGAP_API void bladegap_engine_destroy(bladegap_engine *engine);

/* An engine of what one knows of a car that nobody wrote a file for: a card as text, size bytes, in rows name,value,unit as bladegap_list("card")
 * names them, or name=value with commas between. good: readings of this very car when it was good, as bladegap_estimate_add_text() takes
 * them, good_size bytes; NULL if there are none. The engine stands where they put it; give an estimate the same text as its baseline. What the
 * card leaves open is as wide as cars of the kind differ on the road, and an estimate knows that. */
BLADEGAP_API bladegap_engine *bladegap_engine_card(const char *card, size_t size, const char *good, size_t good_size, char *error,
                                                   size_t error_size);

/* What it is, in a line; NULL for NULL. */
BLADEGAP_API const char *bladegap_engine_title(const bladegap_engine *engine);

/* Sets a condition ("film_um", "altitude_m") or a parameter ("idle_air.learned_most_pct"), within its range; or
 *   learned_pct   the learned air offset is at this value, -100 to 200, as just after a clean; else it is what long use brings
 * Without altitude_m or ambient_kpa an estimate takes the place as not told, anything else stands at the sea.
 *   engine_off    1: key on, the engine standing (for bladegap_settle() only)
 * A parameter changes the metal and what the computer takes it for alike. Values that contradict each other are found when
 * the engine is used, or by bladegap_engine_check(). */
BLADEGAP_API int bladegap_engine_set(bladegap_engine *engine, const char *name, double value, char *error, size_t error_size);

/* The value of now; NaN for a learned_pct that was not set. */
BLADEGAP_API int bladegap_engine_get(const bladegap_engine *engine, const char *name, double *value, char *error,
                                     size_t error_size);

/* The learned offset is again what long use brings. */
BLADEGAP_API int bladegap_engine_relearn(bladegap_engine *engine, char *error, size_t error_size);

/* Whether values contradict each other; all contradictions, a line each. */
BLADEGAP_API int bladegap_engine_check(const bladegap_engine *engine, char *error, size_t error_size);

/* ---- The settled point: what a long run comes to, at once (0.1 ms) ---- */

typedef struct bladegap_point bladegap_point;

BLADEGAP_API bladegap_point *bladegap_settle(const bladegap_engine *engine, char *error, size_t error_size);

/* "idles", "droops", "races", "held", "stands", "stalls", ...; NULL for NULL. One that stalls has no values. */
BLADEGAP_API const char *bladegap_point_outcome(const bladegap_point *point);

/* Value of a channel; NaN where the engine has it not. */
BLADEGAP_API int bladegap_point_value(const bladegap_point *point, const char *channel, double *value, char *error,
                                      size_t error_size);

/* What belongs to the point, by kind:
 *   channels   name, value
 *   codes      code, definition       those that would set
 *   speeds     speed_rpm              at which it could settle, the point's own first */
BLADEGAP_API bladegap_table *bladegap_point_table(const bladegap_point *point, const char *kind, char *error, size_t error_size);
BLADEGAP_API void bladegap_point_destroy(bladegap_point *point);

/* ---- Sweeps: settled points over one input or two ---- */

enum { BLADEGAP_SWEEP_POINTS_MAX = 100000 };

/* Columns: the inputs, then outcome (a text), channels, and for each code 1 where it would set. The first input is the slowest.
 * name: as for bladegap_engine_set(), without engine_off; values must rise. other_name: NULL for one input. */
BLADEGAP_API bladegap_table *bladegap_sweep(const bladegap_engine *engine, const char *name, const double *values, size_t count,
                                            const char *other_name, const double *other_values, size_t other_count, char *error,
                                            size_t error_size);

/* The same from text: "film_um=0:110:2" from 0 to 110 in steps of 2, "leak_mm2=0.5:50:x20" twenty of equal ratio,
 * "altitude_m=0,600,1500" these. other: NULL for one input. */
BLADEGAP_API bladegap_table *bladegap_sweep_text(const bladegap_engine *engine, const char *input, const char *other, char *error,
                                                 size_t error_size);

/* ---- Estimates: from readings of a car back to causes ---- */

typedef struct bladegap_estimate bladegap_estimate;

/* Begins one for a car of this kind. What was set of the engine is the day (altitude_m, intake_c, ...), its parameters, and
 * learned_pct; a fault, a load or the driver set there is an error, as an estimate looks for the first, and the condition of each
 * reading says the others. */
BLADEGAP_API bladegap_estimate *bladegap_estimate_create(const bladegap_engine *engine, char *error, size_t error_size);
BLADEGAP_API void bladegap_estimate_destroy(bladegap_estimate *estimate);

/* Adds a reading: a name of bladegap_list("readings"), or a spelling that logs use, with its unit: "MAF (kg/h)"; where it was
 * read, of bladegap_list("conditions"); its value. sd: standard deviation of the reading, NaN for that of the usual instrument.
 * coolant_c and intake_c at cold_idle say how cold the car was. The second form adds to what was read of the same car when it
 * was good. Not after bladegap_estimate_compute(). */
BLADEGAP_API int bladegap_estimate_add(bladegap_estimate *estimate, const char *name, const char *condition, double value,
                                       double sd, char *error, size_t error_size);
BLADEGAP_API int bladegap_estimate_add_baseline(bladegap_estimate *estimate, const char *name, const char *condition,
                                                double value, double sd, char *error, size_t error_size);

/* Adds readings from text, size bytes, in rows and columns: a header name,condition,value and where wanted resolution,noise
 * (one count of the instrument, standard deviation of its flicker); comma, semicolon or tab between cells, # begins a comment.
 * Or text of a log, as an instrument writes it: where it idles and the like is found, and means are taken there; the table "notes" tells
 * what was taken from where, and what was not understood.
 * source: what to call the text in messages, which give its lines. All faults are told at once; good lines are then in
 * all the same, so that an estimate that was answered with an error is best begun anew. */
BLADEGAP_API int bladegap_estimate_add_text(bladegap_estimate *estimate, const char *source, const char *text, size_t size,
                                            char *error, size_t error_size);
BLADEGAP_API int bladegap_estimate_add_baseline_text(bladegap_estimate *estimate, const char *source, const char *text,
                                                     size_t size, char *error, size_t error_size);

/* Adds what brought the car in, as evidence beside the readings or, for a first look, without any:
 *   codes          "P0506,P0171": all that were stored, so that those that are not speak as well; "none" if none is
 *   codes_some     the same where there may be others
 *   complaint      low-idle, high-idle, stalls, hunts, no-response or slow-start
 *   freeze_frame   "speed_rpm=702,coolant_c=90": names and units as those of readings; only one of warm idle counts
 * Each once. The table "why" tells what they say, and what was left out of them. */
BLADEGAP_API int bladegap_estimate_add_symptom(bladegap_estimate *estimate, const char *name, const char *text, char *error,
                                               size_t error_size);

/* Options, 0 or 1:
 *   pairs   also try a film together with each other cause (takes twenty times as long)
 *   trust   take readings as they are, even those beyond what the engine can show; else they are asked about by an error */
BLADEGAP_API int bladegap_estimate_option(bladegap_estimate *estimate, const char *name, int value, char *error,
                                          size_t error_size);

/* Works it out, in some 30 ms; with pairs in 600. Takes 5 to 25 MB until it is destroyed. */
BLADEGAP_API int bladegap_estimate_compute(bladegap_estimate *estimate, char *error, size_t error_size);

/* A number of it, after bladegap_estimate_compute(); all intervals hold with 90 %:
 *   p_value             how often so bad a fit of the best cause is mere chance; below 0.01 nothing here explains the readings,
 *                       and no other figure deserves trust
 *   baseline_p_value    the same of the baseline and a good car
 *   film_probability    that there is a film, whatever stands beside it
 *   film_um, film_low_um, film_high_um              its thickness, if there is one
 *   area_loss_pct, area_loss_low_pct, area_loss_high_pct   share of the air's area that it takes where the engine idles now
 *   entropy_bits        what is still open between the causes
 *   learned_now_pct     what the computer has learned; relearn_s: how long it idles after a clean until that is unlearned
 *   cure_probability    that it then idles on its target; NaN, as the two before, where a film is too unlikely to clean */
BLADEGAP_API int bladegap_estimate_value(const bladegap_estimate *estimate, const char *name, double *value, char *error,
                                         size_t error_size);

/* A table of it, after bladegap_estimate_compute():
 *   causes        cause, text, prior, probability, p_value, severity_of, severity, low, high, and the same of a second:
 *                 severity2_of, severity2, low2, high2; the likeliest first; severity_of is a condition
 *   comparisons   reading, condition, value, sd, cause, expected, spread, off, weight: each reading under "nothing" and the leading
 *                 causes; off: in standard deviations; weight: log of how much likelier the cause makes it; above 0 speaks for it
 *   next          test, text, gain_bits, minutes, cautions: what to measure next, most gain a minute first; the cautions, names of the
 *                 table below, are to be told before the text
 *   after         reading, condition, now, now_low, now_high, stale, stale_low, stale_high, relearned, relearned_low,
 *                 relearned_high: before a clean, cleaned, cleaned and relearned; no rows where a film is too unlikely
 *   why           text: sentences
 *   limits        text: what this cannot know
 *   notes         text: what reading logs has noticed, a sentence a row; none where no log was given
 *   cautions      text, caution: for whoever goes to the car; the last row, without a name, says whose word counts there */
BLADEGAP_API bladegap_table *bladegap_estimate_table(const bladegap_estimate *estimate, const char *kind, char *error,
                                                     size_t error_size);

/* ---- Runs: the engine in time, and acting on it ---- */

typedef struct bladegap_run bladegap_run;

enum { BLADEGAP_TICKS_PER_S = 100 }; // steps a second: the engine computer decides every 10 ms

/* Begins a run under what is set of the engine. start:
 *   settled   in its settled point, which is found at once (0.3 ms)
 *   idling    left to idle until it stands still (15 ms)
 *   key_off   standing, key off
 * seed: of the scatter from cycle to cycle; the same calls with the same seed give the same bytes. BLADEGAP_BAD_CONFIG if the
 * engine does not keep running where it should begin to. */
BLADEGAP_API bladegap_run *bladegap_run_create(const bladegap_engine *engine, const char *start, uint64_t seed, char *error,
                                               size_t error_size);
BLADEGAP_API void bladegap_run_destroy(bladegap_run *run);

/* Goes on by so many steps of 10 ms, up to a day in all. BLADEGAP_INTERNAL, with state and time, if the equations cannot be
 * integrated further. */
BLADEGAP_API int bladegap_run_step(bladegap_run *run, size_t ticks, char *error, size_t error_size);

/* Seconds since it began; NaN for NULL. */
BLADEGAP_API double bladegap_run_time_s(const bladegap_run *run);

/* Value of a channel now; NaN where the engine has it not. Looking at it, the computer has had its turn at this moment: what is
 * played afterwards acts at the next. */
BLADEGAP_API int bladegap_run_value(bladegap_run *run, const char *channel, double *value, char *error, size_t error_size);

/* All of them, in the order of bladegap_list("channels"); count: how many those are. */
BLADEGAP_API int bladegap_run_values(bladegap_run *run, double *values, size_t count, char *error, size_t error_size);

/* What belongs to the run, by kind:
 *   events   time_s, kind, code, value, text      all so far: codes, stalls, starts, keys, limits, notes
 *   codes    code, state, lamp, definition        what a scan tool finds in the computer now; lamp: 1 if it lights the lamp
 *   monitors  code, state, tested, failed, missing, now, limit, beyond, unit, lasted_s, needed_s, condition
 *            every code that this engine can set, and why it is set or not: whether it was tested in this driving cycle, and found; what
 *            keeps it from testing now ("" if nothing); the value that is watched, NaN while it is not, and its limit, in their unit;
 *            on which side of it the fault is, "above" or "below"; how long it has been there, how long it must; the fault in words
 *   air      name, value      ambient_kpa, the air outside; pressure_ratio, the manifold's over it; critical_ratio, below which air is choked
 *   torch    text             how a torch is held to the blade of this engine
 *   light    theta_deg, gap_um   what it then shows: the gap round the bore from the shaft on, the blade shut on its stop; NaN where the shaft is */
BLADEGAP_API bladegap_table *bladegap_run_table(const bladegap_run *run, const char *kind, char *error, size_t error_size);

/* These act at the next step. A condition is set at once (ramp_s 0) or goes there evenly in ramp_s seconds; what is set afterwards of
 * the same condition ends a ramp. key: off, on, start. action: clear_codes, reset_learned, lose_closed_stop. A note stands among
 * the events. */
BLADEGAP_API int bladegap_run_set(bladegap_run *run, const char *condition, double value, double ramp_s, char *error,
                                  size_t error_size);
BLADEGAP_API int bladegap_run_key(bladegap_run *run, const char *key, char *error, size_t error_size);
BLADEGAP_API int bladegap_run_act(bladegap_run *run, const char *action, char *error, size_t error_size);
BLADEGAP_API int bladegap_run_note(bladegap_run *run, const char *note, char *error, size_t error_size);

/* Puts the parameters of another engine in while it runs, or of the same after bladegap_engine_set(); conditions stay those of the
 * run. Both must be of one kind: banks, throttle, metering. */
BLADEGAP_API int bladegap_run_change_engine(bladegap_run *run, const bladegap_engine *engine, char *error, size_t error_size);

/* Saves all that moves into memory of the caller, of bladegap_run_save_size() bytes (0 for NULL; some 60 kB), and goes back to it, in
 * the same run or in another of an engine with the same parameters; it then goes on bit for bit, if it has the same seed. For this
 * process only. Events later than the moment that it goes back to are forgotten. */
BLADEGAP_API size_t bladegap_run_save_size(const bladegap_run *run);
BLADEGAP_API int bladegap_run_save(const bladegap_run *run, void *memory, size_t size, char *error, size_t error_size);
BLADEGAP_API int bladegap_run_restore(bladegap_run *run, const void *memory, size_t size, char *error, size_t error_size);

/* What was done so far as text, the same that `bladegap run` takes and writes: initial conditions, then an action a line. It is ended by
 * a null. needed: bytes that it takes, with the null; NULL if not wanted. record NULL: nothing is written, needed only. An error if a
 * record cannot say it: parameters or learned_pct were set, the engine was changed while it ran, or it goes on from what another
 * run had saved. */
BLADEGAP_API int bladegap_run_record(const bladegap_run *run, char *record, size_t size, size_t *needed, char *error,
                                     size_t error_size);

/* Begins a run in which all of a record's actions will be played again, at their times; size bytes. source: what to call it in
 * messages, which give its lines. end_s: when the record ended, NULL if not wanted. Stepping to there gives the same bytes as
 * the run that was recorded; more may be played on the way, and it can go on from there. */
BLADEGAP_API bladegap_run *bladegap_run_replay(const char *source, const char *record, size_t size, double *end_s, char *error,
                                               size_t error_size);

/* ---- Practice: a case with a hidden fault, tests that cost minutes, an answer, a mark (docs/practice.md) ---- */

typedef struct bladegap_practice bladegap_practice;

/* Opens a case: level 1 to 3; the same engine, level and seed give the same case. Or goes on with one from its text, as
 * `bladegap practice` keeps it in a file; BLADEGAP_BAD_CONFIG if that was edited or is a newer version's. */
BLADEGAP_API bladegap_practice *bladegap_practice_open(const bladegap_engine *engine, int level, uint64_t seed, char *error,
                                                       size_t error_size);
BLADEGAP_API bladegap_practice *bladegap_practice_resume(const char *source, const char *text, size_t size, char *error,
                                                         size_t error_size);
BLADEGAP_API void bladegap_practice_destroy(bladegap_practice *practice);

/* Does a test of the table "tests". careful: 1 if its cautions have been read. Not once it has been answered. */
BLADEGAP_API int bladegap_practice_measure(bladegap_practice *practice, const char *test, int careful, char *error,
                                           size_t error_size);

/* Answers, once. cause: names of bladegap_list("causes") with + between them, "nothing" or "not_told"; severity: a number for each in the unit
 * of its condition, or "-"; work: names of the table "work" with + between them. */
BLADEGAP_API int bladegap_practice_answer(bladegap_practice *practice, const char *cause, const char *severity, const char *work,
                                          int careful, char *error, size_t error_size);

/* Marks the answer: of 100. A second of work. */
BLADEGAP_API int bladegap_practice_mark(bladegap_practice *practice, double *total, char *error, size_t error_size);

/* The case as text, which bladegap_practice_resume() and the program take; ended by a zero. *needed: its size with that, unless NULL. text may be NULL. */
BLADEGAP_API int bladegap_practice_text(const bladegap_practice *practice, char *text, size_t size, size_t *needed, char *error,
                                        size_t error_size);

/* What belongs to it, by kind:
 *   case      text                                              the car, what its driver says, stored codes
 *   tests     name, minutes, text, cautions                     what can be done; cautions: a line each
 *   readings  test, minutes, name, value, text                  all that was read so far
 *   work      name, text                                        what can be answered
 *   points    part, points, most                                of the mark; none before it
 *   steps     plan, test, minutes, gain_bits, before, after     what each test was worth, yours and the best plan's
 *   why       text                                              what was hidden, what settled it, where the best plan ends */
BLADEGAP_API bladegap_table *bladegap_practice_table(const bladegap_practice *practice, const char *kind, char *error,
                                                     size_t error_size);

#ifdef __cplusplus
}
#endif

#endif
