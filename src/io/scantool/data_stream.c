#include "io/scantool/data_stream.h"

#include "base/us_units.h"
#include "io/format/json.h"
#include "io/format/text.h"

#include <math.h>
#include <string.h>

/* ---- For people ---- */

static enum status print_values(const struct service01_source *source, bool us, FILE *stream, struct error *error) {
  static const char *const headings[] = {"id", "reading", "value", "bytes", "as decoded", "unit"};
  struct text_table table;
  text_table_init(&table, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < service01_count; i++) {
    const struct service01_row *row = &service01_rows[i];
    const double value = row->value(source);
    if (isnan(value)) continue;
    const uint32_t raw = service01_encode(row, value);
    char hex[SERVICE01_TEXT_SIZE], words[SERVICE01_TEXT_SIZE];
    service01_hex(row, raw, hex);
    service01_words(row, raw, words);
    const bool bits = strcmp(row->unit, "bits") == 0;
    const struct us_unit *unit = us ? us_unit_of_text(row->unit) : NULL;
    if (unit) snprintf(words, sizeof words, "%.*f", row->decimals + 1, us_unit_from_own(unit, service01_decode(row, raw), false));
    text_table_add(&table, "%02X", row->identifier);
    text_table_add(&table, "%s", row->name);
    if (bits)
      text_table_add(&table, "-");
    else
      text_table_add(&table, "%.3f", unit ? us_unit_from_own(unit, value, false) : value);
    text_table_add(&table, "%s", hex);
    text_table_add(&table, "%s", words);
    text_table_add(&table, "%s", bits ? "" : unit ? unit->text : row->unit);
  }
  const int failed = text_table_print(&table, stream, 2);
  text_table_destroy(&table);
  return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the data stream") : STATUS_OK;
}

static void print_codes(const struct monitors *monitors, enum code_state state, FILE *stream) {
  int count = 0;
  fprintf(stream, "  %s codes:", monitors_code_state_name(state));
  for (int i = 0; i < MONITOR_CODE_COUNT; i++)
    if (monitors->code[i].code == state) {
      const int bytes = monitors_code_bytes(monitor_rows[i].code);
      fprintf(stream, "%s %s (%02X %02X)", count++ ? "," : "", monitor_rows[i].code, bytes >> 8, bytes & 0xFF);
    }
  fprintf(stream, "%s\n", count ? "" : " none");
}

void data_stream_print_frame(const struct engine *engine, const struct freeze_frame *frame, FILE *stream) {
  if (frame->state == FREEZE_FRAME_NONE) return;
  const struct service01_source source = {engine, &frame->reading, NULL};
  char text[1024], words[SERVICE01_TEXT_SIZE];
  size_t used = (size_t)snprintf(text, sizeof text, "freeze frame of %s, stored %s at %.1f s", monitor_rows[frame->code].code,
                                 monitors_code_state_name(frame->stored_as), frame->reading.values[CHANNEL_time_s]);
  if (frame->state == FREEZE_FRAME_ERASED)
    used += (size_t)snprintf(text + used, sizeof text - used, ", erased with its code at %.1f s", frame->erased_s);
  const char *mark = ":";
  for (size_t i = 0; i < service01_count && used < sizeof text; i++) {
    const struct service01_row *row = &service01_rows[i];
    const double value = row->value(&source);
    if (!row->in_frame || isnan(value)) continue;
    service01_words(row, service01_encode(row, value), words);
    const bool plain = strcmp(row->unit, "bits") == 0;
    used += (size_t)snprintf(text + used, sizeof text - used, "%s %s %s%s%s", mark, row->name, words, plain ? "" : " ",
                             plain ? "" : row->unit);
    mark = ";";
  }
  fputs("  ", stream);
  text_wrap(stream, 2, text);
}

void data_stream_print_readiness(const struct engine *engine, const struct monitors *monitors, FILE *stream) {
  for (int group = 0; group < SERVICE01_GROUP_COUNT; group++) {
    char text[512];
    int fitted = 0, ready = 0, waiting = 0;
    char names[256] = "";
    for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
      if (service01_group_of((enum monitor_code)i) != (enum service01_group)group) continue;
      if (!scan_monitor_fitted(engine, (enum monitor_code)i)) continue;
      fitted++;
      ready += monitors->code[i].ready;
      if (monitors->code[i].ready) continue;
      const size_t used = strlen(names);
      snprintf(names + used, sizeof names - used, "%s %s", waiting++ ? "," : "", monitor_rows[i].code);
    }
    snprintf(text, sizeof text, "readiness, %s: %d of %d monitors have run%s%s", service01_group_names[group], ready, fitted,
             waiting ? "; not yet" : ", complete", names);
    fputs("  ", stream);
    text_wrap(stream, 2, text);
  }
}

enum status data_stream_print(const struct engine *engine, const struct scan *scan, bool us, FILE *stream, struct error *error) {
  const struct service01_source source = {engine, &scan->reading, &scan->monitors};
  fprintf(stream, "Data stream at %.2f s\n", scan->reading.values[CHANNEL_time_s]);
  if (!scan->reading.awake) {
    fprintf(stream, "  the key is off: the computer does not answer\n");
    return STATUS_OK;
  }
  const enum status status = print_values(&source, us, stream, error);
  if (status != STATUS_OK) return status;
  print_codes(&scan->monitors, CODE_CONFIRMED, stream);
  print_codes(&scan->monitors, CODE_PENDING, stream);
  if (scan->frame.state == FREEZE_FRAME_STORED)
    data_stream_print_frame(engine, &scan->frame, stream);
  else
    fprintf(stream, "  freeze frame: none\n");
  data_stream_print_readiness(engine, &scan->monitors, stream);
  return STATUS_OK;
}

/* ---- JSON ---- */

static void put_values(const struct service01_source *source, bool frame, struct json *json) {
  json_open_array(json, "readings");
  for (size_t i = 0; i < service01_count; i++) {
    const struct service01_row *row = &service01_rows[i];
    const double value = row->value(source);
    if (isnan(value) || (frame && !row->in_frame)) continue;
    const uint32_t raw = service01_encode(row, value);
    char text[SERVICE01_TEXT_SIZE];
    json_open_object(json, NULL);
    snprintf(text, sizeof text, "%02X", row->identifier);
    json_put_text(json, "id", text);
    json_put_text(json, "name", row->name);
    json_put_real(json, "value", value, 5);
    service01_hex(row, raw, text);
    json_put_text(json, "bytes", text);
    json_put_real(json, "decoded", service01_decode(row, raw), 5);
    service01_words(row, raw, text);
    json_put_text(json, "shown", text);
    json_put_text(json, "unit", row->unit);
    json_close(json);
  }
  json_close(json);
}

static void put_codes(const struct monitors *monitors, enum code_state state, struct json *json) {
  json_open_array(json, monitors_code_state_name(state));
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    if (monitors->code[i].code != state) continue;
    const int bytes = monitors_code_bytes(monitor_rows[i].code);
    char text[SERVICE01_TEXT_SIZE];
    json_open_object(json, NULL);
    json_put_text(json, "code", monitor_rows[i].code);
    snprintf(text, sizeof text, "%02X %02X", bytes >> 8, bytes & 0xFF);
    json_put_text(json, "bytes", text);
    json_close(json);
  }
  json_close(json);
}

void data_stream_put_frame(const struct engine *engine, const struct freeze_frame *frame, struct json *json) {
  if (frame->state == FREEZE_FRAME_NONE) {
    json_put_null(json, "freeze_frame");
    return;
  }
  const struct service01_source source = {engine, &frame->reading, NULL};
  json_open_object(json, "freeze_frame");
  json_put_text(json, "code", monitor_rows[frame->code].code);
  json_put_text(json, "stored_as", monitors_code_state_name(frame->stored_as));
  json_put_real(json, "time_s", frame->reading.values[CHANNEL_time_s], 3);
  if (frame->state == FREEZE_FRAME_ERASED) json_put_real(json, "erased_s", frame->erased_s, 3);
  put_values(&source, true, json);
  json_close(json);
}

void data_stream_put_readiness(const struct engine *engine, const struct monitors *monitors, struct json *json) {
  json_open_object(json, "readiness");
  for (int group = 0; group < SERVICE01_GROUP_COUNT; group++)
    json_put_flag(json, service01_group_names[group], service01_complete(engine, monitors, (enum service01_group)group));
  json_open_array(json, "monitors");
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    if (!scan_monitor_fitted(engine, (enum monitor_code)i)) continue;
    json_open_object(json, NULL);
    json_put_text(json, "code", monitor_rows[i].code);
    json_put_text(json, "group", service01_group_names[service01_group_of((enum monitor_code)i)]);
    json_put_flag(json, "ready", monitors->code[i].ready);
    json_close(json);
  }
  json_close(json);
  json_close(json);
}

void data_stream_put_json(const struct engine *engine, const struct scan *scan, struct json *json) {
  const struct service01_source source = {engine, &scan->reading, &scan->monitors};
  json_put_real(json, "wanted_s", scan->wanted_s, 3);
  json_put_real(json, "time_s", scan->reading.values[CHANNEL_time_s], 3);
  json_put_flag(json, "answered", scan->reading.awake);
  if (!scan->reading.awake) return;
  put_values(&source, false, json);
  put_codes(&scan->monitors, CODE_CONFIRMED, json);
  put_codes(&scan->monitors, CODE_PENDING, json);
  const struct freeze_frame none = {.state = FREEZE_FRAME_NONE};
  data_stream_put_frame(engine, scan->frame.state == FREEZE_FRAME_STORED ? &scan->frame : &none, json);
  data_stream_put_readiness(engine, &scan->monitors, json);
}
