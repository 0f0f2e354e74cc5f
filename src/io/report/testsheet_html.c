/* The page: black on white with grey rules, so that it prints and copies; a table for each section; no row
 * breaks across pages. */
#include "io/report/testsheet.h"

#include "analysis/testsheet/sheet_complaint.h"
#include "io/format/html.h"

#include <string.h>

static const char style[] =
    "@page { size: A4; margin: 12mm 12mm 14mm 12mm; }\n"
    "* { box-sizing: border-box; }\n"
    "body { font: 8.5pt/1.3 sans-serif; color: #000; background: #fff; margin: 0 auto; max-width: 186mm; }\n"
    "h1 { font-size: 15pt; margin: 0 0 1mm 0; }\n"
    "h2 { font-size: 11pt; margin: 5mm 0 0 0; break-after: avoid; }\n"
    "p { margin: 1mm 0; }\n"
    ".purpose { break-after: avoid; font-style: italic; margin-bottom: 1.5mm; }\n"
    ".who { display: flex; gap: 4mm; margin: 3mm 0; }\n"
    ".who span { flex: 1; border-bottom: 0.3mm solid #000; padding-bottom: 1mm; height: 8mm; }\n"
    ".caution { border: 0.6mm solid #000; padding: 2mm 3mm; margin: 3mm 0; break-inside: avoid; }\n"
    ".caution ol { margin: 1mm 0 0 0; padding-left: 6mm; }\n"
    ".caution b { font-size: 10pt; }\n"
    "table { width: 100%; border-collapse: collapse; table-layout: fixed; }\n"
    "thead { display: table-header-group; }\n"
    "tr { break-inside: avoid; }\n"
    "th, td { border: 0.2mm solid #777; padding: 1mm 1.5mm; text-align: left; vertical-align: top; "
    "overflow-wrap: anywhere; }\n"
    "th { background: #e4e4e4; }\n"
    ".test { width: 32%; } .good { width: 15%; } .box { width: 12%; } .with { width: 41%; }\n"
    ".when, .know, .see { color: #333; }\n"
    ".number { font-weight: bold; font-size: 9.5pt; white-space: nowrap; }\n"
    ".blank { display: block; height: 9mm; border: 0.4mm solid #000; margin-top: 1mm; }\n"
    ".range { white-space: nowrap; }\n"
    ".page { break-before: page; }\n"
    ".short { margin-bottom: 1.5mm; table-layout: auto; } .short th, .short td { padding: 0.3mm 1.2mm; }\n"
    ".line { display: block; height: 4mm; border-bottom: 0.3mm solid #000; min-width: 18mm; }\n"
    ".small { font-size: 7.5pt; }\n"
    ".with div { margin-bottom: 0.6mm; }\n";

static void put_head(const struct sheet *sheet, unsigned appear, bool all, FILE *stream) {
  html_begin(stream, "Bench test sheet", sheet->engine->title, style);
  fputs("<div class=\"who\"><span>Vehicle</span><span>Date</span><span>Measured by</span><span>Complaint, "
        "codes</span></div>\n",
        stream);
  fputs("<div class=\"caution\"><b>Cautions</b>\n<ol>\n", stream);
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((appear >> i) & 1u) html_put_in(stream, "<li>", all ? caution_rows[i].text : caution_rows[i].brief, "</li>\n");
  html_put_in(stream, "</ol>\n<p>", caution_disclaimer, "</p>\n</div>\n");
}

static void put_cautions(const struct sheet *sheet, unsigned cautions, FILE *stream) {
  const char *before = "<div class=\"see\"><b>Caution ";
  for (int i = 0; i < CAUTION_COUNT; i++) {
    if (!((cautions >> i) & 1u)) continue;
    fprintf(stream, "%s%d", before, testsheet_caution_number(sheet->cautions, i));
    before = ", ";
  }
  if (cautions) fputs("</b></div>\n", stream);
}

static void put_departures(const struct sheet *sheet, const struct sheet_reading *reading, FILE *stream) {
  bool unseen = false;
  for (size_t i = 0; i < reading->departure_count; i++) {
    const struct sheet_departure *departure = &reading->departures[i];
    char value[TESTSHEET_TEXT_SIZE];
    if (departure->seen) {
      testsheet_value(reading, departure->value, value);
      html_put_in(stream, "<div><b>", value, "</b> with ");
      html_put(stream, departure->fault->label);
      testsheet_caution_numbers(sheet->cautions, sheet_departure_cautions(sheet, departure), value);
      if (*value) html_put_in(stream, ": <b>caution ", value, "</b>");
      html_put_in(stream, ": ", departure->fault->meaning, "</div>\n");
      continue;
    }
    html_put_in(stream, unseen ? "; " : "<div class=\"see\"><i>Not seen here:</i> ", departure->fault->label, "");
    testsheet_unseen_value(reading, departure->value, value);
    html_put(stream, value);
    unseen = true;
  }
  if (unseen) fputs("</div>\n", stream);
}

static void put_reading(const struct sheet *sheet, const struct sheet_reading *reading, FILE *stream) {
  char text[TESTSHEET_TEXT_SIZE];
  html_put_in(stream, "<tr><td><b>", reading->row->title, "</b>\n");
  put_cautions(sheet, reading->cautions, stream);
  html_put_in(stream, "<div class=\"when\">", sheet_procedure_window_rows[reading->row->window].text, "</div>\n");
  html_put_in(stream, "<div>", sheet_where(sheet, reading), "</div>\n");
  testsheet_note(sheet, reading, text);
  if (*text) html_put_in(stream, "<div class=\"know\"><i>", text, "</i></div>\n");
  testsheet_value(reading, reading->good, text);
  html_put_in(stream, "</td><td><span class=\"number\">", text, "</span><br/>\n");
  testsheet_range(reading, text);
  html_put_in(stream, "<span class=\"range\">", text, "</span>");
  html_put_in(stream, "</td><td>", reading->row->unit, "<span class=\"blank\"></span></td><td class=\"small\">\n");
  put_departures(sheet, reading, stream);
  fputs("</td></tr>\n", stream);
}

static void put_all(const struct sheet *sheet, FILE *stream) {
  int section = -1;
  html_put_in(stream, "<p class=\"page\">", testsheet_how, "</p>\n");
  for (size_t i = 0; i < sheet->reading_count; i++) {
    const struct sheet_reading *reading = &sheet->readings[i];
    if ((int)reading->row->section != section) {
      if (section >= 0) fputs("</tbody></table>\n", stream);
      section = (int)reading->row->section;
      html_put_in(stream, "<h2>", sheet_sections[section].heading, "</h2>\n");
      html_put_in(stream, "<p class=\"purpose\">", sheet_sections[section].text, "</p>\n");
      fputs("<table><thead><tr><th class=\"test\">Test</th><th class=\"good\">Good unit</th><th "
            "class=\"box\">Measured</th>"
            "<th class=\"with\">Departures</th></tr></thead><tbody>\n",
            stream);
    }
    put_reading(sheet, reading, stream);
  }
  if (section >= 0) fputs("</tbody></table>\n", stream);
}

void testsheet_print_html(const struct sheet *sheet, bool all, FILE *stream) {
  const unsigned appear = all ? sheet->cautions : sheet_complaint_cautions(sheet);
  put_head(sheet, appear, all, stream);
  testsheet_put_short(sheet, appear, stream);
  if (all) put_all(sheet, stream);
  fputs("</body>\n</html>\n", stream);
}
