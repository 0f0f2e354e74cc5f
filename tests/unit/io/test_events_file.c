/* events.csv. Truth: what was written comes back (invariant), and the form that io/report/events_file.h gives. */
#include "base/attributes.h"
#include "control/computer.h"
#include "io/report/events_file.h"
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[] = "/tmp/test_events_file.XXXXXX";
static char path[sizeof folder + 16];

static int make_folder(void **state) {
  (void)state;
  if (!mkdtemp(folder)) return -1;
  snprintf(path, sizeof path, "%s/events.csv", folder);
  return 0;
}

static int remove_folder(void **state) {
  (void)state;
  unlink(path);
  return rmdir(folder);
}

static void write_text(const char *text, size_t size) {
  FILE *file = fopen(path, "we");
  assert_non_null(file);
  assert_int_equal(fwrite(text, 1, size, file), size);
  assert_int_equal(fclose(file), 0);
}

/* One of each kind, code, state and value, and texts that need care. */
static void fill(struct recording *recording) {
  static const char *const texts[] = {"plain", "with, comma",     "with \"quotes\"", "",
                                      "\"",    "gap 5 \xC2\xB5m", ",,,\"\",",        " blanks "};
  struct error error;
  struct recording_event event = {.time_s = 0.0};
  int count = 0;
  recording_init(recording);
  for (int kind = RECORDING_NOTE; kind <= RECORDING_CONTROLLER; kind++) {
    const int code_count = kind == RECORDING_CODE ? MONITOR_CODE_COUNT : 1;
    const int value_count = kind == RECORDING_NOTE   ? 1
                            : kind == RECORDING_CODE ? CODE_CONFIRMED + 1
                                                     : RECORDING_VALUE_KEY + KEY_START + 1;
    for (int code = 0; code < code_count; code++) {
      for (int value = 0; value < value_count; value++, count++) {
        event = (struct recording_event){.time_s = 0.125 * count,
                                         .kind = (enum recording_event_kind)kind,
                                         .code = kind == RECORDING_CODE ? code : -1,
                                         .value = value};
        snprintf(event.text, sizeof event.text, "%s", texts[(size_t)count % ARRAY_COUNT(texts)]);
        assert_int_equal(recording_add_event(recording, &event, &error), STATUS_OK);
      }
    }
  }
  memset(event.text, 'x', sizeof event.text - 1);
  event.text[sizeof event.text - 1] = '\0';
  assert_int_equal(recording_add_event(recording, &event, &error), STATUS_OK); // same time as the one before
}

static void what_was_written_comes_back(void **state) {
  (void)state;
  struct recording written, read;
  struct error error;
  error_clear(&error);
  fill(&written);
  recording_init(&read);
  assert_int_equal(events_file_write(path, &written, &error), STATUS_OK);
  assert_int_equal(events_file_read(path, &read, &error), STATUS_OK);
  assert_int_equal(read.event_count, written.event_count);
  for (size_t i = 0; i < read.event_count; i++) {
    const struct recording_event *a = &read.events[i], *b = &written.events[i];
    check_close(a->time_s, b->time_s, 1e-6);
    assert_int_equal(a->kind, b->kind);
    assert_int_equal(a->code, b->code);
    assert_int_equal(a->value, b->value);
    assert_string_equal(a->text, b->text);
  }
  recording_destroy(&written);
  recording_destroy(&read);
}

/* A line is an event: a line end in a note becomes a blank. */
static void a_line_end_in_a_text_becomes_a_blank(void **state) {
  (void)state;
  struct recording written, read;
  struct error error;
  error_clear(&error);
  recording_init(&written);
  recording_init(&read);
  const struct recording_event event = {.kind = RECORDING_NOTE, .code = -1, .text = "one\ntwo\r\n\tthree"};
  assert_int_equal(recording_add_event(&written, &event, &error), STATUS_OK);
  assert_int_equal(events_file_write(path, &written, &error), STATUS_OK);
  assert_int_equal(events_file_read(path, &read, &error), STATUS_OK);
  assert_int_equal(read.event_count, 1);
  assert_string_equal(read.events[0].text, "one two   three");
  recording_destroy(&written);
  recording_destroy(&read);
}

static void a_run_without_events_has_a_header_only(void **state) {
  (void)state;
  struct recording recording;
  struct error error;
  error_clear(&error);
  recording_init(&recording);
  assert_int_equal(events_file_write(path, &recording, &error), STATUS_OK);
  assert_int_equal(events_file_read(path, &recording, &error), STATUS_OK);
  assert_int_equal(recording.event_count, 0);
}

#define HEADER "time_s,kind,code,value,text\n"

static void every_fault_is_named_with_its_line(void **state) {
  (void)state;
  static const struct {
    const char *text, *message;
  } rows[] = {
      {"", ":1: the file is empty"},
      {"\n", ":1: the first line must be time_s,kind"},
      {"time_s,speed_rpm\n0,800\n", ":1: the first line must be time_s,kind"},
      {HEADER "x,note,,,hello\n", ":2: time_s 'x' is not a number"},
      {HEADER ",note,,,hello\n", ":2: time_s '' is not a number"},
      {HEADER "nan,note,,,hello\n", ":2: time_s 'nan' is not a number"},
      {HEADER "1e999,note,,,hello\n", ":2: time_s '1e999' is not a number"},
      {HEADER "0x10,note,,,hello\n", ":2: time_s '0x10' is not a number"},
      {HEADER "5,note,,,a\n4,note,,,b\n", ":3: time_s 4 is before the line above, 5"},
      {HEADER "1,nots,,,hello\n", ":2: kind 'nots' is none of note, code, engine, controller"},
      {HEADER "1,code,P9999,pending,x\n", ":2: code 'P9999' is none of P0101, P0102, P0103, "},
      {HEADER "1,code,P0506,maybe,x\n", ":2: value 'maybe' is none of none, pending, confirmed"},
      {HEADER "1,engine,,explode,x\n", ":2: value 'explode' is none of stall, standstill"},
      {HEADER "1,engine,P0506,stall,x\n", ":2: only an event of the kind 'code' has a code"},
      {HEADER "1,note,,stall,x\n", ":2: a note has no value"},
      {HEADER "1,note,,x\n", ":2: 4 cells, expected 5"},
      {HEADER "1,note,,,a,b\n", ":2: 6 cells, expected 5"},
      {HEADER "1,note,,,\"open\n", ":2: the quote is not closed"},
      {HEADER "1,note,,,\"a\"b\n", ":2: text after the closing quote"},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct recording recording;
    struct error error;
    error_clear(&error);
    recording_init(&recording);
    write_text(rows[i].text, strlen(rows[i].text));
    assert_int_equal(events_file_read(path, &recording, &error), STATUS_BAD_DATA);
    if (!strstr(error.text, rows[i].message)) fail_msg("'%s' is not in '%s'", rows[i].message, error.text);
    recording_destroy(&recording);
  }
}

/* Three faults, three lines; the good line between them is kept; blank lines and CR LF are no faults. */
static void all_faults_of_a_file_come_in_one_go(void **state) {
  (void)state;
  static const char text[] = "time_s,kind,code,value,text\r\nx,note,,,a\r\n\r\n1,note,,,b\r\n2,bad,,,c\r\n3,note\r\n";
  struct recording recording;
  struct error error;
  error_clear(&error);
  recording_init(&recording);
  write_text(text, strlen(text));
  assert_int_equal(events_file_read(path, &recording, &error), STATUS_BAD_DATA);
  assert_int_equal(error.line_count, 3);
  assert_non_null(strstr(error.text, ":2: "));
  assert_non_null(strstr(error.text, ":5: "));
  assert_non_null(strstr(error.text, ":6: "));
  assert_int_equal(recording.event_count, 1);
  recording_destroy(&recording);
}

static void long_texts_and_binary_files_are_refused(void **state) {
  (void)state;
  char text[1000] = HEADER "1,note,,,";
  struct recording recording;
  struct error error;
  error_clear(&error);
  recording_init(&recording);
  memset(text + strlen(text), 'x', RECORDING_TEXT_SIZE);
  write_text(text, strlen(text));
  assert_int_equal(events_file_read(path, &recording, &error), STATUS_BAD_DATA);
  assert_non_null(strstr(error.text, ":2: text is longer than 199 bytes"));
  error_clear(&error);
  write_text(HEADER "1,no\0te,,,a\n", sizeof HEADER - 1 + 12);
  assert_int_equal(events_file_read(path, &recording, &error), STATUS_BAD_DATA);
  assert_non_null(strstr(error.text, ":2: this is not a text file"));
  recording_destroy(&recording);
}

static void the_place_is_beside_the_run(void **state) {
  (void)state;
  char run[sizeof folder + 16], beside[OUTPUT_FILE_PATH_SIZE];
  snprintf(run, sizeof run, "%s/run.csv", folder);
  write_text(HEADER, strlen(HEADER));
  assert_true(events_file_beside(run, beside));
  assert_string_equal(beside, path);
  unlink(path);
  assert_false(events_file_beside(run, beside));
  assert_true(events_file_is(path));
  assert_true(events_file_is("events.csv"));
  assert_false(events_file_is("my-events.csv"));
  struct recording recording;
  struct error error;
  error_clear(&error);
  recording_init(&recording);
  assert_int_equal(events_file_read(path, &recording, &error), STATUS_NO_INPUT);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_was_written_comes_back),
      cmocka_unit_test(a_line_end_in_a_text_becomes_a_blank),
      cmocka_unit_test(a_run_without_events_has_a_header_only),
      cmocka_unit_test(every_fault_is_named_with_its_line),
      cmocka_unit_test(all_faults_of_a_file_come_in_one_go),
      cmocka_unit_test(long_texts_and_binary_files_are_refused),
      cmocka_unit_test(the_place_is_beside_the_run),
  };
  return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
