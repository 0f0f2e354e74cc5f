#include "io/scantool/capture.h"

#include "io/format/output_file.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum {
  LINK_TYPE_CAN = 227,
  SNAP_LENGTH = 65535,
  REQUEST_ID = 0x7DF, // to all computers
  ANSWER_ID = 0x7E8,  // from the engine computer
  FLOW_ID = 0x7E0,    // to the engine computer
  POSITIVE = 0x40,    // added to the service in an answer
  FRAME_SIZE = 8,     // data bytes of a CAN frame
  SINGLE_MOST = 7,
  FIRST_MOST = 6,
  ANSWER_MAX = 3 + 2 * MONITOR_CODE_COUNT,
};
#define FRAME_S 0.001 // from frame to frame; a bus of 500 kbit/s and a quick computer

struct writer {
  FILE *stream;
  double time_s;
};

/* ---- File ---- */

static void put_number(FILE *stream, uint32_t number, int bytes) { // low byte first
  for (int i = 0; i < bytes; i++) fputc((int)(number >> (8 * i) & 0xFF), stream);
}

static void put_file_header(FILE *stream) {
  put_number(stream, 0xA1B2C3D4U, 4);
  put_number(stream, 2, 2);
  put_number(stream, 4, 2);
  put_number(stream, 0, 4); // time zone
  put_number(stream, 0, 4); // accuracy
  put_number(stream, SNAP_LENGTH, 4);
  put_number(stream, LINK_TYPE_CAN, 4);
}

static void put_frame(struct writer *writer, unsigned identifier, const uint8_t data[FRAME_SIZE]) {
  FILE *stream = writer->stream;
  const double whole_s = floor(writer->time_s);
  put_number(stream, (uint32_t)whole_s, 4);
  put_number(stream, (uint32_t)floor((writer->time_s - whole_s) * 1e6), 4);
  put_number(stream, 8 + FRAME_SIZE, 4);
  put_number(stream, 8 + FRAME_SIZE, 4);
  for (int i = 3; i >= 0; i--) fputc((int)(identifier >> (8 * i) & 0xFF), stream);
  fputc(FRAME_SIZE, stream);
  put_number(stream, 0, 3);
  fwrite(data, 1, FRAME_SIZE, stream);
  writer->time_s += FRAME_S;
}

/* ---- ISO 15765-2 ---- */

static void put_flow_control(struct writer *writer) {
  const uint8_t frame[FRAME_SIZE] = {0x30, 0, 0}; // clear to send, all in one block, no pause
  put_frame(writer, FLOW_ID, frame);
}

static void put_message(struct writer *writer, unsigned identifier, const uint8_t *bytes, size_t count) {
  uint8_t frame[FRAME_SIZE] = {(uint8_t)count};
  if (count <= SINGLE_MOST) {
    memcpy(frame + 1, bytes, count);
    put_frame(writer, identifier, frame);
    return;
  }
  frame[0] = (uint8_t)(0x10 | count >> 8);
  frame[1] = (uint8_t)(count & 0xFF);
  memcpy(frame + 2, bytes, FIRST_MOST);
  put_frame(writer, identifier, frame);
  put_flow_control(writer);
  size_t sent = FIRST_MOST;
  for (unsigned number = 1; sent < count; number++) {
    const size_t part = count - sent < SINGLE_MOST ? count - sent : SINGLE_MOST;
    memset(frame, 0, sizeof frame);
    frame[0] = (uint8_t)(0x20 | (number & 0x0F));
    memcpy(frame + 1, bytes + sent, part);
    put_frame(writer, identifier, frame);
    sent += part;
  }
}

/* ---- Dialogue ---- */

/* Service 01: one identifier. */
static void put_value(struct writer *writer, uint8_t identifier, const uint8_t *bytes, int count, bool answered) {
  const uint8_t request[] = {0x01, identifier};
  put_message(writer, REQUEST_ID, request, sizeof request);
  if (!answered) return;
  uint8_t answer[2 + SERVICE01_BYTES_MAX] = {POSITIVE | 0x01, identifier};
  memcpy(answer + 2, bytes, (size_t)count);
  put_message(writer, ANSWER_ID, answer, 2 + (size_t)count);
}

static void put_supported(struct writer *writer, const struct service01_source *source, uint8_t from, bool answered) {
  const uint32_t bits = service01_supported(source, from);
  uint8_t bytes[4];
  for (int i = 0; i < 4; i++) bytes[i] = (uint8_t)(bits >> (8 * (3 - i)));
  put_value(writer, from, bytes, 4, answered);
}

static void put_values(struct writer *writer, const struct service01_source *source, bool answered) {
  for (unsigned from = 0; from <= 0x40; from += 0x20) put_supported(writer, source, (uint8_t)from, answered);
  for (size_t i = 0; i < service01_count; i++) {
    const struct service01_row *row = &service01_rows[i];
    const double value = row->value(source);
    uint8_t bytes[SERVICE01_BYTES_MAX];
    if (isnan(value)) continue;
    put_value(writer, row->identifier, bytes, service01_bytes(row, service01_encode(row, value), bytes), answered);
  }
}

/* Service 02, frame 0: an identifier. */
static void put_frozen(struct writer *writer, uint8_t identifier, const uint8_t *bytes, int count) {
  const uint8_t request[] = {0x02, identifier, 0};
  uint8_t answer[3 + SERVICE01_BYTES_MAX] = {POSITIVE | 0x02, identifier, 0};
  put_message(writer, REQUEST_ID, request, sizeof request);
  memcpy(answer + 3, bytes, (size_t)count);
  put_message(writer, ANSWER_ID, answer, 3 + (size_t)count);
}

/* Identifier 02 is the code that stored the frame, 0000 if there is none. */
static void put_freeze_frame(struct writer *writer, const struct engine *engine, const struct freeze_frame *frame) {
  const struct service01_source source = {engine, &frame->reading, NULL};
  const bool stored = frame->state == FREEZE_FRAME_STORED;
  const int code = stored ? monitors_code_bytes(monitor_rows[frame->code].code) : 0;
  uint8_t bytes[SERVICE01_BYTES_MAX] = {(uint8_t)(code >> 8), (uint8_t)(code & 0xFF)};
  put_frozen(writer, 0x02, bytes, 2);
  for (size_t i = 0; stored && i < service01_count; i++) {
    const struct service01_row *row = &service01_rows[i];
    const double value = row->in_frame ? row->value(&source) : NAN;
    if (!isnan(value)) put_frozen(writer, row->identifier, bytes, service01_bytes(row, service01_encode(row, value), bytes));
  }
}

static bool in_list(const struct monitors *monitors, int i, uint8_t service) {
  const enum code_state state = monitors->code[i].code;
  if (service == 0x07) return state == CODE_PENDING;
  return state == CODE_CONFIRMED && (service == 0x03 || monitors->code[i].lamp);
}

/* Services 03, 07, 0A: how many codes, then two bytes each. */
static void put_codes(struct writer *writer, const struct monitors *monitors, uint8_t service, bool answered) {
  uint8_t answer[ANSWER_MAX] = {(uint8_t)(POSITIVE | service)};
  size_t count = 2;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    if (!in_list(monitors, i, service)) continue;
    const int bytes = monitors_code_bytes(monitor_rows[i].code);
    answer[count++] = (uint8_t)(bytes >> 8);
    answer[count++] = (uint8_t)(bytes & 0xFF);
    answer[1]++;
  }
  put_message(writer, REQUEST_ID, &service, 1);
  if (answered) put_message(writer, ANSWER_ID, answer, count);
}

/* What is asked for beside readings. */
static void put_found(struct writer *writer, const struct engine *engine, const struct scan *scan) {
  const bool awake = scan->reading.awake;
  if (awake) put_freeze_frame(writer, engine, &scan->frame);
  put_codes(writer, &scan->monitors, 0x03, awake);
  put_codes(writer, &scan->monitors, 0x07, awake);
  put_codes(writer, &scan->monitors, 0x0A, awake);
}

enum status capture_write(const char *path, const struct engine *engine, const struct scan *scans, size_t count,
                          struct error *error) {
  struct output_file file;
  const enum status status = output_file_open(&file, path, error);
  if (status != STATUS_OK) return status;
  put_file_header(file.stream);
  for (size_t i = 0; i < count; i++) {
    const struct scan *scan = &scans[i];
    const struct service01_source source = {engine, &scan->reading, &scan->monitors};
    struct writer writer = {file.stream, scan->reading.values[CHANNEL_time_s]};
    put_values(&writer, &source, scan->reading.awake);
    put_found(&writer, engine, scan);
  }
  return output_file_commit(&file, error);
}

enum status capture_write_log(const char *path, const struct engine *engine, const struct log_poll *poll,
                              const struct log_answers *answers, const struct scan *first, const struct scan *last,
                              struct error *error) {
  const struct service01_source source = {engine, &first->reading, &first->monitors};
  struct output_file file;
  if (answers->count == 0)
    return error_set(error, STATUS_BAD_DATA, "%s: nothing is answered in this run while the instrument is plugged in", path);
  const enum status status = output_file_open(&file, path, error);
  if (status != STATUS_OK) return status;
  struct writer writer = {file.stream, 0.0};
  put_file_header(file.stream);
  for (unsigned from = 0; from <= 0x40; from += 0x20) put_supported(&writer, &source, (uint8_t)from, first->reading.awake);
  for (size_t i = 0; i < answers->count; i++) {
    const struct log_answer *answer = &answers->items[i];
    const struct service01_row *row = log_signals_row(&log_signals[poll->signals[answer->column].signal]);
    uint8_t bytes[SERVICE01_BYTES_MAX];
    assert(row);
    writer.time_s = fmax(writer.time_s, answer->time_s);
    put_value(&writer, row->identifier, bytes, service01_bytes(row, service01_encode(row, answer->value), bytes), true);
  }
  writer.time_s = fmax(writer.time_s, last->reading.values[CHANNEL_time_s] - poll->from_s);
  put_found(&writer, engine, last);
  return output_file_commit(&file, error);
}
