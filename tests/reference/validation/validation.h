/* Every figure from outside that the program is held against: one row each.
 *
 * reference/test_validation.c checks the rows, docs/make/validation.c prints them as docs/validation.md: page and test cannot
 * disagree. A row computes our value afresh each time; only the outside's figure and tolerances stand in the code.
 *
 * Two tolerances. `tolerance` is what the source itself is worth: its last digit, its scatter, how far its engine is ours. Further
 * off than that is a miss, and the page says so. A miss that is known has a `known_miss`: how far off ours has been; the check then
 * fails when it gets worse, not before. A row without one must lie within the tolerance. */
#ifndef REFERENCE_VALIDATION_VALIDATION_H
#define REFERENCE_VALIDATION_VALIDATION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

enum validation_mark { VALIDATION_READ, VALIDATION_ABSTRACT, VALIDATION_MEMORY, VALIDATION_RUN };
extern const char *const validation_mark_names[];

/* SOURCE(id, independent of the others, mark, text). Sources that are not independent repeat another's figures. */
// clang-format off
#define VALIDATION_SOURCE_LIST(SOURCE)                                                                                        \
  SOURCE(GAS_TABLES, true, READ, "Compressible-flow tables, k = 1.4: a textbook's table A.1 (coursepaper.com), Farokhi, *Aircraft Propulsion*, app. B (scribd 244809475), *Aeronautical Engineer's Data Book*, app. 4") \
  SOURCE(FLUIDS, true, RUN, "python3-fluids 1.0.22, a library of others: critical pressure, API 520's formula, ATMOSPHERE_1976") \
  SOURCE(SCIPY, true, RUN, "python3-scipy 1.10.1, DOP853 at 1e-11: another solver on the same equation")                        \
  SOURCE(ATMOSPHERE, true, READ, "US Standard Atmosphere 1976 / ISO 2533, constants on crnslab.org/util/atmo.php")              \
  SOURCE(CENGEL, true, MEMORY, "Cengel and Boles, *Thermodynamics*, fig. 17-28: inputs read, printed answer from memory")       \
  SOURCE(GUZZELLA, true, READ, "A parameter set of a 2.77 l six, said to be L. Guzzella and C. Onder's app. B.2.3, in coursework (UW-Madison EPD 629, 2022); the book was not at hand") \
  SOURCE(CROSSLEY, true, READ, "P. R. Crossley, J. A. Cook, IEE Int. Conf. Control 1991: regression of a measured engine, coefficients in the Modelica Standard Library") \
  SOURCE(BENCH_24, true, READ, "A 2.48 l engine on a bench, 100 Hz: github.com/brunnese/EngineSystems, data of commit 3fe8a3e and the fits in final/MS2/Par.m (derived figures only; who measured is not told)") \
  SOURCE(COURSE_24, true, READ, "A 2.4 l engine, course model *Model of I.C. engine dynamics for idle speed*")                    \
  SOURCE(COOK_POWELL, true, READ, "J. A. Cook, B. K. Powell, *Modeling of an internal combustion engine for control analysis*, IEEE Control Systems Magazine 1988: a six at 600 rpm (vdocuments.mx/00007726.html)") \
  SOURCE(DOE, true, READ, "US DOE Vehicle Technologies Fact #861 (2015): idle fuel without accessories, measured by Argonne; with petrol of 0.745 kg/l (from memory) and 14.7 : 1") \
  SOURCE(MOTOR_RULE, true, READ, "MOTOR magazine, Driveability Corner, August 2010: the g/s-per-litre rule and a worked car")    \
  SOURCE(ENGINEERFIX, true, READ, "engineerfix.com (trade page): 1.7 to 1.9 g/s per litre at idle; a weak source that disagrees with the others") \
  SOURCE(VACUUM, true, READ, "A textbook's chapter on vacuum (trantor.is, 17_chapter02_03): 15 to 22 inHg at idle")              \
  SOURCE(HEYWOOD, true, MEMORY, "J. B. Heywood, *Internal Combustion Engine Fundamentals*, eq. 13.6 (Barnes-Moss)")             \
  SOURCE(SANDOVAL, true, MEMORY, "D. Sandoval, J. B. Heywood, SAE 2003-01-0725: abstract read, coefficients from memory, worked out here for a 1.6 l four of 78 by 83.7 mm") \
  SOURCE(HENDRICKS, true, MEMORY, "E. Hendricks et al., SAE 910258 and 960037: spark quadratic, charge law")                    \
  SOURCE(J1979, true, READ, "Scalings of service 01 as Scapy (a general packet library) and a table of ISO 15031-5 give them")   \
  SOURCE(CARB, true, READ, "California 13 CCR 1968.2 (copy of 2007 on obd-china.com)")                                          \
  SOURCE(REAL_CAR, true, READ, "A car of 2014, 1.496 l four, metered by pressure: public logs, github.com/eron93br/carOBD, data of a study on coolant sensors (IEEE, document 8891367); means over 129 logs, derived here") \
  SOURCE(TRADE_DIRTY, true, READ, "mri-auto-diagnostics.com, throttle-body page (trade discussion): blade 5 % clean, 17 % dirty for the same air")
// clang-format on

enum validation_source {
#define SOURCE(id, independent, mark, text) VALIDATION_SOURCE_##id,
  VALIDATION_SOURCE_LIST(SOURCE)
#undef SOURCE
      VALIDATION_SOURCE_COUNT
};

struct validation_source_row {
  bool independent;
  enum validation_mark mark;
  const char *text;
};
extern const struct validation_source_row validation_sources[VALIDATION_SOURCE_COUNT];

/* USED: some value in our code or engine files was taken from this figure or fitted to it, so that agreement proves little. */
enum validation_use { VALIDATION_NEVER, VALIDATION_USED };

/* Columns: what, with its unit; the outside's figure; its tolerance; known miss, 0 for none; decimals to print; source; use; ours
 * from the section's context; at which abscissa. */
struct validation_row {
  const char *quantity;
  double theirs, tolerance, known_miss;
  int decimals;
  enum validation_source source;
  enum validation_use use;
  double (*ours)(const void *context, double at);
  double at;
};

/* ARITHMETIC: formulas and copied tables, right or wrong; ENGINES: figures of engines. */
enum validation_kind { VALIDATION_ARITHMETIC, VALIDATION_ENGINES };

struct validation_section {
  enum validation_kind kind;
  const char *title, *text;
  const struct validation_row *rows;
  size_t count;
  void *(*begin)(void); // what its rows share, computed once; NULL for nothing
  void (*end)(void *context);
};

enum { VALIDATION_SECTION_COUNT = 10 };
extern const struct validation_section *const validation_sections[VALIDATION_SECTION_COUNT];

enum validation_verdict { VALIDATION_HOLDS, VALIDATION_MISSES, VALIDATION_FAILS };
extern const char *const validation_verdict_names[];

/* FAILS: further off than tolerance and known miss allow; NaN fails. */
enum validation_verdict validation_judge(const struct validation_row *row, double ours);

/* Calls tell for each row of a section with its value of now. */
void validation_each(const struct validation_section *section,
                     void (*tell)(const struct validation_row *row, double ours, void *user), void *user);

#endif
