/* Writes docs/validation.md:  make_validation > docs/validation.md  from the top of the source tree; some ten seconds.
 * make_validation --check docs/validation.md  compares the committed page with a fresh one.
 *
 * The rows are those of tests/reference/validation, which test_validation.c checks; the words around them are here. */
#include "reference/validation/validation.h"

#include "base/attributes.h"
#include "base/units.h"
#include "make/validation_words.h"
#include "support/page_compare.h"
#include "support/plant_probe.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct counts {
  size_t rows, holds, misses, never, never_holds;
};

struct page {
  FILE *file;
  enum validation_kind kind; // of the section being written
  struct counts counts[2];   // by kind
};

static const struct validation_section *section_at(size_t i) { return validation_sections[i]; }

/* ---- head ---- */

static size_t independent_sources(void) {
  size_t count = 0;
  for (size_t i = 0; i < VALIDATION_SOURCE_COUNT; i++) count += validation_sources[i].independent;
  return count;
}

static void write_head(FILE *file, const struct counts counts[2]) {
  const struct counts *arithmetic = &counts[VALIDATION_ARITHMETIC], *engines = &counts[VALIDATION_ENGINES];
  fprintf(
      file,
      "# What the numbers are held against\n\n"
      "Written by `make_validation` from the rows that `tests/reference/test_validation.c` checks. Do not edit it by hand:\n\n"
      "    cmake --build build --target make_validation && build/docs/make/make_validation > docs/validation.md\n\n"
      "%zu quantities from %zu independent sources, of two kinds:\n\n"
      "- %zu are arithmetic: formulas and copied tables, right or wrong. %zu hold. They say that the program computes what it "
      "means to.\n"
      "- **%zu are figures of engines. %zu hold, %zu miss**, and the tables say by how much. %zu of them were never used to "
      "choose "
      "a value in\n  the code or in an engine file; of these %zu hold. This is how far the model is to be trusted.\n\n"
      "**Theirs** is the figure from outside, **ours** what the program computes now, **tolerance** what the source is worth "
      "(its "
      "last digit, its\nscatter, how far its engine is from ours). A row *holds* within the tolerance. A row that *misses* is a "
      "known miss: the test lets it\nstand and fails when it gets worse. **Used**: some value of ours was taken from this figure "
      "or "
      "fitted to it; agreement then proves\nlittle.\n\n",
      arithmetic->rows + engines->rows, independent_sources(), arithmetic->rows, arithmetic->holds, engines->rows, engines->holds,
      engines->misses, engines->never, engines->never_holds);
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
  struct counts *counts = &page->counts[page->kind];
  const enum validation_verdict verdict = validation_judge(row, ours);
  counts->rows++;
  counts->holds += verdict == VALIDATION_HOLDS;
  counts->misses += verdict != VALIDATION_HOLDS;
  counts->never += row->use == VALIDATION_NEVER;
  counts->never_holds += row->use == VALIDATION_NEVER && verdict == VALIDATION_HOLDS;
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
    page->kind = section_at(i)->kind;
    validation_each(section_at(i), write_row, page);
    fprintf(page->file, "\n");
  }
}

/* ---- a bench that anyone has ---- */

#define FEELER_MM 0.05 // the thinnest leaf of an everyday feeler gauge
#define ARC_DEG   60.0
#define STRING_MM 0.20 // the thinnest string of a guitar
#define DISCHARGE 0.66

/* Choked air past an opening, g/s, 100 kPa and 20 C before it: 0.6847 p A / sqrt(R T), by hand. */
static double choked_gps(double mm2) { return mm2 * DISCHARGE * 1e-3 * 0.6847 * 100e3 / sqrt(287.05 * 293.15); }

static void write_gap(FILE *file, double bore_mm, double area_mm2) {
  const double round_mm = UNITS_PI * bore_mm;
  fprintf(
      file,
      "1. *The width of an idle's gap.* Bore %.0f mm: the rim is pi x %.0f = %.0f mm long. The clean idle of four-16 has %.2f "
      "mm2 "
      "of gap: %.2f / %.0f mm\n   = %.0f um mean width. A film as thick as a tenth of that takes about a tenth of the air. Film "
      "against gap width, not film as such, is\n   what decides.\n",
      bore_mm, bore_mm, round_mm, area_mm2, area_mm2, round_mm, 1e3 * area_mm2 / round_mm);
}

/* The blade's rim stands off by clearance + R (1 - k) sin^2: w where it is widest, half of that above the clearance in the mean. */
static void write_string(FILE *file, double bore_mm, double clearance_mm) {
  const double area_mm2 = UNITS_PI * bore_mm * (clearance_mm + 0.5 * (STRING_MM - clearance_mm));
  fprintf(file,
          "2. *A guitar string as a gauge of the opening.* Lay a string of w = %.2f mm along the bore, midway between the "
          "shaft's ends, and "
          "close the blade\n   on it: the widest gap is then w, without any angle sensor. For a thin blade in a plain bore with "
          "c = %.3f "
          "mm of clearance the gap is\n   pi D (c + (w - c) / 2) = %.1f mm2, and with a discharge of %.2f it passes %.2f g/s "
          "choked (more "
          "than half an atmosphere of vacuum behind it,\n   100 kPa and 20 C before it). A thick edge or a shoulder passes less: "
          "by how "
          "much is what nobody here knows.\n",
          STRING_MM, clearance_mm, area_mm2, DISCHARGE, choked_gps(area_mm2));
}

static void write_foil(FILE *file, double bore_mm, double area_mm2) {
  const double arc_mm = UNITS_PI * bore_mm * ARC_DEG / 360.0, foil_mm2 = arc_mm * FEELER_MM;
  fprintf(file,
          "3. *A feeler leaf as a film.* Glue a strip of %.2f mm foil, %.0f mm round the bore (a sixth of the rim, midway "
          "between the "
          "shaft's ends) and 5 mm\n   along it, to the wall where the blade's edge stands when it is as far open as an idle. It "
          "takes %.0f x "
          "%.2f = %.2f mm2, %.0f %% of the idle's\n   gap: choked air must fall by %.2f g/s at the same blade angle.\n",
          FEELER_MM, arc_mm, arc_mm, FEELER_MM, foil_mm2, 100.0 * foil_mm2 / area_mm2, choked_gps(foil_mm2));
}

static void write_bench(FILE *file) {
  struct plant_probe *probe = plant_probe_create("models/four-16.cfg");
  plant_probe_settle(probe);
  const struct bore_geometry *bore = &probe->engine.plant.throttle.bore;
  const double bore_mm = 2e3 * bore->radius_m, area_mm2 = plant_probe_value(probe, CHANNEL_area_mm2);
  fputs(
      "## The central claim, and a bench to try it on\n\n"
      "That a film of some hundredths of a millimetre starves an idle is arithmetic on the gap. **Nobody here measured it, and "
      "no "
      "published\nmeasurement of flow against angle for a clean and a dirty throttle was found** (what was searched is below). A "
      "reader with a\nthrottle off the car can measure it; nothing but a feeler gauge, a guitar string, a vacuum pump and an "
      "air-flow "
      "meter is needed.\n\n",
      file);
  write_gap(file, bore_mm, area_mm2);
  write_string(file, bore_mm, 1e3 * bore->clearance_m);
  write_foil(file, bore_mm, area_mm2);
  fputs("4. *What would refute us.* Air that falls by less than half or more than twice of step 3 means that our gap is not "
        "where the air "
        "goes. Air of step 2\n   that is twice or half of ours moves every thickness in these pages by as much: films are told "
        "in micrometres "
        "of *our* gap.\n\n",
        file);
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
  write_head(file, page.counts);
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
