/* Paragraphs and tables. Truth: the page's width, and texts laid out by hand. */
#include "io/format/text.h"
#include "support/check.h"

#include <stdlib.h>
#include <string.h>

/* Columns of the longest line, for ASCII. */
static size_t widest(const char *text) {
  size_t most = 0;
  for (const char *at = text; *at;) {
    const size_t size = strcspn(at, "\n");
    if (size > most) most = size;
    at += size + (at[size] == '\n');
  }
  return most;
}

static void words_are_wrapped_at_the_width(void **state) {
  (void)state;
  char words[2000] = "";
  for (int i = 0; i < 150; i++) strcat(words, i % 3 ? "seven12 " : "ten4567890 ");
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  assert_non_null(stream);
  text_wrap(stream, 0, words);
  fclose(stream);
  assert_in_range(widest(text), TEXT_WIDTH - 10, TEXT_WIDTH); // a line ends within a word of the edge
  free(text);
}

static void paragraphs_and_examples(void **state) {
  (void)state;
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  assert_non_null(stream);
  text_paragraphs(stream, 1, "one\ntwo\n\n  a   b\n  c\n\nend");
  fclose(stream);
  assert_string_equal(text, " one two\n\n   a   b\n   c\n\n end\n");
  free(text);
}

/* Prints a table of two columns with one row. */
static char *table_text(const char *left, const char *right) {
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  assert_non_null(stream);
  struct text_table table;
  text_table_init(&table, 2, (const char *const[]){"name", "text"});
  text_table_add(&table, "%s", left);
  text_table_add(&table, "%s", right);
  assert_int_equal(text_table_print(&table, stream, 0), 0);
  fclose(stream);
  return text;
}

static void columns_are_aligned(void **state) {
  (void)state;
  char *text = table_text("film_um", "deposit");
  assert_string_equal(text, "name     text\nfilm_um  deposit\n");
  free(text);
  text = table_text("\xc2\xb0", "a degree is one column");
  assert_string_equal(text, "name  text\n\xc2\xb0     a degree is one column\n");
  free(text);
}

static void long_cells_are_wrapped_in_their_column(void **state) {
  (void)state;
  char prose[400] = "word";
  for (int i = 0; i < 59; i++) strcat(prose, " word");
  char *text = table_text("name_s", prose);
  assert_in_range(widest(text), TEXT_WIDTH - 5, TEXT_WIDTH);
  size_t words = 0;
  for (const char *at = text; (at = strstr(at, "word")); at++) words++;
  assert_int_equal(words, 60);                     // none lost, none twice
  assert_non_null(strstr(text, "\n        word")); // further lines start at their column
  free(text);
}

static void a_word_too_long_stays_whole(void **state) {
  (void)state;
  char path[151];
  memset(path, 'p', sizeof path - 1);
  path[sizeof path - 1] = '\0';
  char *text = table_text("title", path);
  assert_non_null(strstr(text, path));
  free(text);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(words_are_wrapped_at_the_width),
      cmocka_unit_test(paragraphs_and_examples),
      cmocka_unit_test(columns_are_aligned),
      cmocka_unit_test(long_cells_are_wrapped_in_their_column),
      cmocka_unit_test(a_word_too_long_stays_whole),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
