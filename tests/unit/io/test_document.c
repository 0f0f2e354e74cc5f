/* io/document: the same report as text and as a page. Truth: what both should be, written out by hand. */
#include "support/check.h"

#include "base/attributes.h"
#include "io/format/document.h"

#include <stdlib.h>
#include <string.h>

static char *written(enum document_form form) {
  static const char *const headings[] = {"name", "value"};
  struct document document;
  struct error error;
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  assert_non_null(stream);
  error_clear(&error);
  document_begin(&document, form, stream, "Title", "a <b> & \"c\"");
  document_heading(&document, "Head");
  document_paragraph(&document, "%d < %d", 1, 2);
  document_item(&document, "first");
  document_item(&document, "second");
  document_frame_begin(&document);
  document_table_begin(&document, ARRAY_COUNT(headings), headings);
  document_cell(&document, "a&b");
  document_cell(&document, "%.1f", 2.5);
  document_table_end(&document);
  document_frame_end(&document);
  document_drawing(&document, "<?xml?>\n<svg/>\n", 15, "what it shows");
  assert_int_equal(document_finish(&document, &error), STATUS_OK);
  assert_int_equal(fclose(stream), 0);
  return text;
}

static void as_text(void **state) {
  (void)state;
  char *text = written(DOCUMENT_TEXT);
  assert_string_equal(text, "Title: a <b> & \"c\"\n"
                            "\nHead\n"
                            "  1 < 2\n"
                            "  - first\n"
                            "  - second\n"
                            "  name  value\n"
                            "  a&b   2.5\n");
  free(text);
}

static void as_a_page(void **state) {
  (void)state;
  char *text = written(DOCUMENT_HTML);
  const char *body = strstr(text, "<body>");
  assert_non_null(body);
  assert_non_null(strstr(text, "<title>Title: a &lt;b&gt; &amp; &quot;c&quot;</title>"));
  assert_string_equal(body, "<body>\n<h1>Title</h1>\n<p><b>a &lt;b&gt; &amp; &quot;c&quot;</b></p>\n"
                            "<h2>Head</h2>\n<p>1 &lt; 2</p>\n"
                            "<ul>\n<li>first</li>\n<li>second</li>\n</ul>\n"
                            "<div class=\"frame\">\n"
                            "<table><thead><tr><th>name</th><th>value</th></tr></thead><tbody>\n"
                            "<tr><td>a&amp;b</td><td>2.5</td></tr>\n</tbody></table>\n</div>\n"
                            "<figure>\n<svg/>\n<figcaption>what it shows</figcaption>\n</figure>\n"
                            "</body>\n</html>\n");
  free(text);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(as_text), cmocka_unit_test(as_a_page)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
