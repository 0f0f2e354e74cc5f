/* Rows and cells of text. Truth: libcsv in its strict mode, of what people write and of random texts; by hand where libcsv cannot
 * say: line numbers, comments, the delimiter. */
#include "base/splitter.h"

#include "base/attributes.h"
#include "support/check.h"

#include <csv.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What was found, as bytes: 'c' size cell for a cell, 'r' for the end of a row, 'q' for a row lost by a quote, 'o' for a quote
 * that never closes. */
struct found {
  char bytes[65536];
  size_t size, row; // row: where the row that is being read begins
};

static void put(struct found *found, char kind, const void *bytes, size_t size) {
  assert_true(found->size + size + sizeof size + 1 < sizeof found->bytes);
  found->bytes[found->size++] = kind;
  if (kind != 'c') return;
  memcpy(found->bytes + found->size, &size, sizeof size);
  found->size += sizeof size;
  if (size > 0) memcpy(found->bytes + found->size, bytes, size);
  found->size += size;
}

static void end_row(struct found *found, char kind) {
  if (kind != 'r') found->size = found->row; // its cells are lost
  put(found, kind, NULL, 0);
  found->row = found->size;
}

/* ---- As libcsv has it ---- */

static void on_cell(void *data, size_t size, void *user) { put(user, 'c', data, size); }

static void on_row(int end, void *user) {
  (void)end;
  end_row(user, 'r');
}

static size_t line_size(const char *text, size_t size) {
  size_t i = 0;
  while (i < size && text[i] != '\n' && text[i] != '\r') i++;
  if (i + 1 < size && text[i] == '\r' && text[i + 1] == '\n') i++;
  return i < size ? i + 1 : size;
}

static void begin(struct csv_parser *parser, char delimiter) {
  assert_int_equal(csv_init(parser, CSV_STRICT | CSV_STRICT_FINI), 0);
  csv_set_delim(parser, (unsigned char)delimiter);
}

/* Line by line; a line that it refuses ends the row, and the next starts afresh. */
static void by_libcsv(const char *text, size_t size, char delimiter, struct found *found) {
  struct csv_parser parser;
  begin(&parser, delimiter);
  *found = (struct found){0};
  while (size > 0) {
    const size_t line = line_size(text, size);
    if (csv_parse(&parser, text, line, on_cell, on_row, found) != line) {
      assert_int_equal(csv_error(&parser), CSV_EPARSE);
      end_row(found, 'q');
      csv_free(&parser);
      begin(&parser, delimiter);
    }
    text += line;
    size -= line;
  }
  if (csv_fini(&parser, on_cell, on_row, found) != 0) end_row(found, 'o');
  csv_free(&parser);
}

/* ---- As we have it ---- */

static void by_splitter(const char *text, size_t size, struct found *found, char *delimiter) {
  struct splitter splitter;
  splitter_init(&splitter, text, size, false);
  *delimiter = splitter.delimiter;
  *found = (struct found){0};
  for (;;) {
    const enum splitter_found row = splitter_next(&splitter);
    assert_int_not_equal(row, SPLITTER_NO_MEMORY);
    if (row == SPLITTER_END) break;
    for (size_t i = 0; row == SPLITTER_ROW && i < splitter.cell_count; i++) {
      size_t cell_size;
      const char *cell = splitter_cell(&splitter, i, &cell_size);
      assert_int_equal(cell[cell_size], '\0');
      put(found, 'c', cell, cell_size);
    }
    end_row(found, row == SPLITTER_ROW ? 'r' : row == SPLITTER_BAD_QUOTE ? 'q' : 'o');
  }
  splitter_destroy(&splitter);
}

static void assert_as_libcsv(const char *text, size_t size) {
  static struct found ours, theirs;
  char delimiter;
  char *copy = malloc(size + 1); // so that the sanitizers see a step too far
  assert_non_null(copy);
  memcpy(copy, text, size);
  char *exact = size ? realloc(copy, size) : copy;
  by_splitter(exact, size, &ours, &delimiter);
  by_libcsv(exact, size, delimiter, &theirs);
  if (ours.size != theirs.size || memcmp(ours.bytes, theirs.bytes, ours.size) != 0)
    fail_msg("parted otherwise than by libcsv at '%c': [%.*s]", delimiter, (int)size, text);
  free(exact);
}

static void what_people_write_is_parted_as_by_libcsv(void **state) {
  (void)state;
  static const char *const texts[] = {
      "",
      "\n",
      " \t\r\n",
      "a",
      "a,b",
      "a,b\n1,2\n",
      "a;b\r\n1,5;2\r\n",
      "a\tb\r1\t2\r",
      " a , b \n 1 , 2 ",
      "\"a\",\"b, c\",\"d\"\"e\"\n\"\",,\"\"\n",
      "\"two\nlines\",\"three\r\n\r\nlines\"\n",
      "a,b,\n1,2,\n,,\n",
      "a,b\n1,2\"3\n4,5\n",
      "a,b\n\"1\" 2,3\n4,5\n",
      "a,b\n\"1\" ,\"2\"\t\n",
      "a,b\n1,\"2\n3,4\n",
      "a\t\tb\n\t1\t\n",
      "name,condition,value\n\"MAF (kg/h)\",hold_2500,29\n",
      "a,b\n\"1\"\"\n",
      "a,b\n\"\"\"1\"\"\",2",
  };
  for (size_t i = 0; i < ARRAY_COUNT(texts); i++) assert_as_libcsv(texts[i], strlen(texts[i]));
}

/* Short texts of little more than signs that mean something: most quotes stand wrong, and many do not. */
static void random_texts_are_parted_as_by_libcsv(void **state) {
  (void)state;
  static const char signs[] = {'a', 'b', '1', ',', ',', ';', '\t', ' ', '"', '"', '\n', '\n', '\r', '#', '\0', '\377'};
  uint64_t seed = 20;
  for (int i = 0; i < 200000; i++) {
    char text[48];
    seed = seed * 6364136223846793005u + 1442695040888963407u;
    const size_t size = (size_t)(seed >> 33) % sizeof text;
    for (size_t k = 0; k < size; k++) {
      seed = seed * 6364136223846793005u + 1442695040888963407u;
      text[k] = signs[(seed >> 33) % sizeof signs];
    }
    assert_as_libcsv(text, size);
  }
}

/* ---- By hand ---- */

static void rows_know_their_lines(void **state) {
  (void)state;
  static const char text[] = "\357\273\277a,b\n" // 1
                             "\n"                // 2
                             "  \r\n"            // 3
                             "\"x\r\ny\",2\r"    // 4 and 5
                             "1,2\n"             // 6
                             "3,\"4\n5\" 6\n"    // 7 and 8: the quote that spoils it stands in 8
                             "7,8\n"             // 9
                             "\"open\n";         // 10
  static const struct {
    enum splitter_found found;
    size_t row, fault;
  } rows[] = {
      {SPLITTER_ROW, 1, 0}, {SPLITTER_ROW, 4, 0},         {SPLITTER_ROW, 6, 0}, {SPLITTER_BAD_QUOTE, 7, 8},
      {SPLITTER_ROW, 9, 0}, {SPLITTER_OPEN_QUOTE, 10, 0}, {SPLITTER_END, 0, 0},
  };
  struct splitter splitter;
  splitter_init(&splitter, text, sizeof text - 1, false);
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    assert_int_equal(splitter_next(&splitter), rows[i].found);
    if (rows[i].row) assert_int_equal(splitter.row_line, rows[i].row);
    if (rows[i].fault) assert_int_equal(splitter.fault_line, rows[i].fault);
    if (i == 1) assert_string_equal(splitter_cell(&splitter, 0, NULL), "x\r\ny");
  }
  splitter_destroy(&splitter);
}

static void comments_stand_between_rows(void **state) {
  (void)state;
  static const char text[] = "# semicolons; here; count; nothing\n\n# \"nor quotes\na,b\n#c,d\n\"#e\n#f\",g\nh,#i\n #j,k\n";
  static const char *const cells[][2] = {{"a", "b"}, {"#e\n#f", "g"}, {"h", "#i"}, {"#j", "k"}};
  struct splitter splitter;
  splitter_init(&splitter, text, sizeof text - 1, true);
  assert_int_equal(splitter.delimiter, ',');
  for (size_t i = 0; i < ARRAY_COUNT(cells); i++) {
    assert_int_equal(splitter_next(&splitter), SPLITTER_ROW);
    assert_int_equal(splitter.cell_count, 2);
    for (size_t k = 0; k < 2; k++) assert_string_equal(splitter_cell(&splitter, k, NULL), cells[i][k]);
  }
  assert_int_equal(splitter_next(&splitter), SPLITTER_END);
  assert_int_equal(splitter_next(&splitter), SPLITTER_END);
  splitter_destroy(&splitter);
}

static void lines_may_be_long_and_hold_nulls(void **state) {
  (void)state;
  enum { SIZE = 3 << 20 };
  char *text = malloc(SIZE);
  assert_non_null(text);
  memset(text, 'x', SIZE);
  text[0] = ',';
  text[SIZE / 2] = '\0';
  struct splitter splitter;
  splitter_init(&splitter, text, SIZE, false);
  assert_int_equal(splitter_next(&splitter), SPLITTER_ROW);
  assert_int_equal(splitter.cell_count, 2);
  size_t size;
  const char *cell = splitter_cell(&splitter, 1, &size);
  assert_int_equal(size, SIZE - 1);
  assert_memory_equal(cell, text + 1, SIZE - 1);
  splitter_destroy(&splitter);
  memset(text, ',', SIZE); // a row of three million cells
  splitter_init(&splitter, text, SIZE, false);
  assert_int_equal(splitter_next(&splitter), SPLITTER_ROW);
  assert_int_equal(splitter.cell_count, SIZE + 1);
  splitter_destroy(&splitter);
  free(text);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_people_write_is_parted_as_by_libcsv),
      cmocka_unit_test(random_texts_are_parted_as_by_libcsv),
      cmocka_unit_test(rows_know_their_lines),
      cmocka_unit_test(comments_stand_between_rows),
      cmocka_unit_test(lines_may_be_long_and_hold_nulls),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
