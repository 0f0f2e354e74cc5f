/* Writes docs/validation.md:  make_validation > docs/validation.md  from the top of the source tree; some ten seconds.
 * make_validation --check docs/validation.md  compares the committed page with a fresh one.
 *
 * The rows are those of tests/reference/validation, which test_validation.c checks; the words around them are here. */
#include "reference/validation/validation.h"

#include "base/attributes.h"
#include "base/units.h"
#include "support/page_compare.h"
#include "make/validation_words.h"
#include "support/plant_probe.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct counts {
  size_t rows, holds, misses, never, never_holds;
};

struct page {
  FILE *file;
  struct counts counts;
};

static const struct validation_section *section_at(size_t i) { return validation_sections[i]; }

/* ---- head ---- */

static size_t independent_sources(void) {
  size_t count = 0;
  for (size_t i = 0; i < VALIDATION_SOURCE_COUNT; i++) count += validation_sources[i].independent;
  return count;
}

static void write_head(FILE *file, const struct counts *counts) {
  fprintf(
      file,
      "# What the numbers are held against\n\n"
      "Written by `make_validation` from the rows that `tests/reference/test_validation.c` checks. Do not edit it by hand:\n\n"
      "    cmake --build build --target make_validation && build/docs/make/make_validation > docs/validation.md\n\n"
      "%zu quantities from %zu independent sources. %zu hold; %zu miss, and the tables say by how much. %zu were never used to "
      "choose\na value in the code or in an engine file; of these %zu hold.\n\n"
      "**Theirs** is the figure from outside, **ours** what the program computes now, **tolerance** what the source is worth "
      "(its "
      "last digit, its\nscatter, how far its engine is from ours). A row *holds* within the tolerance. A row that *misses* is a "
      "known miss: the test lets it\nstand and fails when it gets worse. **Used**: some value of ours was taken from this figure "
      "or "
      "fitted to it; agreement then proves\nlittle.\n\n",
      counts->rows, independent_sources(), counts->holds, counts->misses, counts->never, counts->never_holds);
}

static void write_sources(FILE *file) {
  fprintf(file, "## Sources\n\n| no. | source | how it is known |\n|---|---|---|\n");
  for (size_t i = 0; i < VALIDATION_SOURCE_COUNT; i++)
    fprintf(file, "| %zu | %s | %s |\n", i + 1, validation_sources[i].text, validation_mark_names[validation_sources[i].mark]);
  fprintf(file,
          "\n*Run*: a program of others was run, on this project's own inputs. *Abstract only* and *from memory* are weaker than "
          "they look: a\nfigure may be misremembered.\n\n");
}

/* ---- tables ---- */

static void write_row(const struct validation_row *row, double ours, void *user) {
  struct page *page = user;
  const enum validation_verdict verdict = validation_judge(row, ours);
  page->counts.rows++;
  page->counts.holds += verdict == VALIDATION_HOLDS;
  page->counts.misses += verdict != VALIDATION_HOLDS;
  page->counts.never += row->use == VALIDATION_NEVER;
  page->counts.never_holds += row->use == VALIDATION_NEVER && verdict == VALIDATION_HOLDS;
  fprintf(page->file, "| %s | %d | %.*f | %.*f | %+.*f | %.3g | %s | %s |\n", row->quantity, (int)row->source + 1, row->decimals,
          row->theirs, row->decimals, ours, row->decimals, ours - row->theirs, row->tolerance,
          row->use == VALIDATION_NEVER ? "never" : "used", validation_verdict_names[verdict]);
}

static void write_tables(struct page *page) {
  for (size_t i = 0; i < VALIDATION_SECTION_COUNT; i++) {
    fprintf(page->file,
            "## %s\n\n%s\n\n| quantity | source | theirs | ours | difference | tolerance | to choose a value | |\n"
            "|---|---|---|---|---|---|---|---|\n",
            section_at(i)->title, section_at(i)->text);
    validation_each(section_at(i), write_row, page);
    fprintf(page->file, "\n");
  }
}

/* ---- a bench that anyone has ---- */

#define FEELER_MM 0.05
#define ARC_DEG   60.0
#define WIRE_MM   0.50

/* Choked air past an opening, g/s, at 100 kPa and 20 C before it: 0.6847 p / sqrt(R T) a square metre, by hand. */
static double choked_gps(double mm2, double discharge) { return mm2 * discharge * 1e-3 * 0.6847 * 100e3 / sqrt(287.05 * 293.15); }

static void write_bench(FILE *file) {
  struct plant_probe *probe = plant_probe_create("models/four-16.cfg");
  plant_probe_settle(probe);
  const double bore_mm = 2e3 * probe->engine.plant.throttle.bore.radius_m;
  const double round_mm = UNITS_PI * bore_mm, arc_mm = round_mm * ARC_DEG / 360.0, feeler_mm2 = arc_mm * FEELER_MM;
  const double wire_mm2 = 0.25 * UNITS_PI * WIRE_MM * WIRE_MM, area_mm2 = plant_probe_value(probe, CHANNEL_area_mm2);
  const double width_um = 1e3 * area_mm2 / round_mm;
  fprintf(
      file,
      "## The central claim, and a bench to try it on\n\n"
      "That a film of some hundredths of a millimetre starves an idle is arithmetic on the gap. **Nobody here measured it, and "
      "no "
      "published\nmeasurement of flow against angle for a clean and a dirty throttle was found** (what was searched is below). A "
      "reader with a\nthrottle off the car can measure it; nothing but feeler gauges, wire and an air-flow meter is needed.\n\n"
      "1. *The width of an idle's gap.* Bore %.0f mm: the rim is pi x %.0f = %.0f mm long. The clean idle of four-16 has %.2f "
      "mm2 "
      "of gap: %.2f / %.0f mm\n   = %.0f um mean width. A film as thick as a tenth of that takes a tenth of the air. Film "
      "against "
      "gap width, not film as such, is what\n   decides.\n"
      "2. *A feeler gauge as a film.* Cut a strip of %.2f mm foil, %.0f mm long (a sixth of the rim), glue it to the bore where "
      "the "
      "closed blade's edge\n   touches. It covers %.0f x %.2f = %.2f mm2, %.0f %% of the idle's gap; choked (more than half an "
      "atmosphere of vacuum behind it, 100 kPa\n   and 20 C before it), that is %.2f g/s with a discharge of 0.66, %.2f with 1. "
      "The "
      "air at the same blade angle must fall by an amount between.\n"
      "3. *A wire as a gauge of the opening.* A %.2f mm wire laid across the gap where it is widest holds the blade open: the "
      "widest gap "
      "is then known,\n   without any angle sensor. A round hole drilled with that wire's size, %.3f mm2, is a leak of %.3f g/s "
      "at a "
      "discharge of 0.66: a second check\n   of the flow meter.\n"
      "4. *What would refute us.* If the foil of step 2 changes choked air by less than half or more than twice what its area "
      "says, our gap "
      "is wrong: the\n   flow does not go where we think. If the *blade angle* at idle moves by less than the gap says, the film "
      "does "
      "not lie where we think.\n\n",
      bore_mm, bore_mm, round_mm, area_mm2, area_mm2, round_mm, width_um, FEELER_MM, arc_mm, arc_mm, FEELER_MM, feeler_mm2,
      100.0 * feeler_mm2 / area_mm2, choked_gps(feeler_mm2, 0.66), choked_gps(feeler_mm2, 1.0), WIRE_MM, wire_mm2,
      choked_gps(wire_mm2, 0.66));
  plant_probe_destroy(probe);
}

/* ---- */

static void write_page(FILE *file) {
  char *tables = NULL;
  size_t size = 0;
  struct page page = {.file = open_memstream(&tables, &size)};
  if (!page.file) abort();
  write_tables(&page);
  fclose(page.file);
  write_head(file, &page.counts);
  fputs(tables, file);
  free(tables);
  write_bench(file);
  fputs(validation_searched, file);
  fputs(validation_unchecked, file);
  write_sources(file);
}

static int check(const char *path) {
  FILE *committed = fopen(path, "r"), *fresh = tmpfile();
  if (!committed || !fresh) {
    fprintf(stderr, "%s cannot be read\n", path);
    return EXIT_FAILURE;
  }
  write_page(fresh);
  rewind(fresh);
  const size_t wrong = page_compare(committed, fresh);
  if (wrong) fprintf(stderr, "%zu lines of %s are out of date: make_validation > %s\n", wrong, path, path);
  fclose(committed);
  fclose(fresh);
  return wrong ? EXIT_FAILURE : EXIT_SUCCESS;
}

int main(int count, char **words) {
  if (count == 3 && strcmp(words[1], "--check") == 0) return check(words[2]);
  write_page(stdout);
  return EXIT_SUCCESS;
}
