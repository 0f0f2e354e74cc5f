#include "io/scantool/capture_read.h"

#include "io/scantool/log_signals.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  HEADER_SIZE = 24,
  RECORD_SIZE = 16, // before each frame
  FRAME_HEAD = 8,   // identifier, length, three unused
  LINK_TYPE_CAN = 227,
  MESSAGE_MAX = 4095, // ISO 15765-2
  SERVICE_ANSWER = 0x41,
  LIST_BYTES = 4, // identifiers 00, 20, 40 and so on
};
#define MAGIC_MICRO 0xA1B2C3D4U
#define MAGIC_NANO  0xA1B23C4DU
#define MAGIC_NG    0x0A0D0D0AU // pcapng, the same in either order
#define CAN_LONG    0x80000000U
#define CAN_OTHER   0x60000000U // remote request, error
#define ANSWER_ID   0x7E8U
#define ANSWER_LONG 0x18DAF110U

struct reader {
  const uint8_t *bytes;
  size_t size, at;
  bool swapped; // high byte first
  double tick_s;
  int64_t origin_s;
  bool begun;
  // a message that comes in several frames
  uint8_t message[MESSAGE_MAX];
  size_t wanted, got;
  unsigned next;
  size_t answers;
  FILE *text;
};

static uint32_t number_high(const uint8_t *at) {
  return (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
}
static uint32_t number_low(const uint8_t *at) {
  return (uint32_t)at[3] << 24 | (uint32_t)at[2] << 16 | (uint32_t)at[1] << 8 | at[0];
}
static uint32_t number(const struct reader *reader, size_t at) {
  return reader->swapped ? number_high(reader->bytes + at) : number_low(reader->bytes + at);
}

bool capture_read_is(const char *bytes, size_t size) {
  if (size < HEADER_SIZE) return false;
  const uint32_t low = number_low((const uint8_t *)bytes), high = number_high((const uint8_t *)bytes);
  return low == MAGIC_MICRO || low == MAGIC_NANO || high == MAGIC_MICRO || high == MAGIC_NANO || low == MAGIC_NG;
}

/* ---- Answers ---- */

static const struct log_signal *signal_of(uint8_t identifier) {
  for (size_t i = 0; i < log_signals_count; i++)
    if (log_signals[i].identifier == identifier) return &log_signals[i];
  return NULL;
}

static const struct service01_row *row_of(uint8_t identifier) {
  for (size_t i = 0; i < service01_count; i++)
    if (service01_rows[i].identifier == identifier) return &service01_rows[i];
  return NULL;
}

/* Identifier, its bytes, the next identifier. What is not known has no known length: the rest is left out. */
static void take_message(struct reader *reader, const uint8_t *message, size_t size, double time_s) {
  if (size < 2 || message[0] != SERVICE_ANSWER) return;
  for (size_t at = 1; at < size;) {
    const uint8_t identifier = message[at++];
    const struct service01_row *row = row_of(identifier);
    const struct log_signal *signal = signal_of(identifier);
    const size_t count = row ? (size_t)row->bytes : identifier % 0x20 == 0 ? LIST_BYTES : 0;
    if (count == 0 || count > size - at) return;
    uint32_t raw = 0;
    for (size_t i = 0; i < count; i++) raw = raw << 8 | message[at + i];
    at += count;
    if (!signal || !row) continue;
    fprintf(reader->text, "%.6f,%s,%.9g,%s\n", time_s, signal->name, service01_decode(row, raw), signal->unit);
    reader->answers++;
  }
}

/* ---- ISO 15765-2 ---- */

static void take_part(struct reader *reader, const uint8_t *bytes, size_t count) {
  const size_t left = reader->wanted - reader->got, part = left < count ? left : count;
  memcpy(reader->message + reader->got, bytes, part);
  reader->got += part;
}

static void take_frame(struct reader *reader, const uint8_t *data, size_t size, double time_s) {
  if (size == 0) return;
  const unsigned kind = data[0] >> 4, low = data[0] & 0x0F;
  if (kind == 0) { // all in one frame; it ends what was not finished
    reader->wanted = 0;
    if (low < size) take_message(reader, data + 1, low, time_s);
  } else if (kind == 1 && size == 8) {
    reader->wanted = (size_t)low << 8 | data[1];
    reader->got = 0;
    reader->next = 1;
    take_part(reader, data + 2, 6);
  } else if (kind == 2 && reader->wanted > 0) {
    if (low != reader->next % 16) { // a frame is missing
      reader->wanted = 0;
      return;
    }
    reader->next++;
    take_part(reader, data + 1, size - 1);
    if (reader->got < reader->wanted) return;
    take_message(reader, reader->message, reader->wanted, time_s);
    reader->wanted = 0;
  }
}

/* ---- File ---- */

static enum status read_header(const char *path, struct reader *reader, struct error *error) {
  const uint32_t low = number_low(reader->bytes), high = number_high(reader->bytes);
  if (low == MAGIC_NG)
    return error_set(error, STATUS_BAD_DATA, "%s: this is pcapng; only pcap can be read: editcap -F pcap %s new.pcap", path,
                     path);
  reader->swapped = high == MAGIC_MICRO || high == MAGIC_NANO;
  reader->tick_s = low == MAGIC_NANO || high == MAGIC_NANO ? 1e-9 : 1e-6;
  const uint32_t link = number(reader, 20) & 0x0FFFFFFFU;
  if (link != LINK_TYPE_CAN)
    return error_set(error, STATUS_BAD_DATA, "%s: captured on a link of type %u; only %d is read, SocketCAN", path,
                     (unsigned)link, LINK_TYPE_CAN);
  reader->at = HEADER_SIZE;
  return STATUS_OK;
}

/* One record. Sizes are compared so that no damaged one leads out of the file. */
static enum status read_record(const char *path, struct reader *reader, struct error *error) {
  const size_t left = reader->size - reader->at;
  const uint32_t size = left < RECORD_SIZE ? 0 : number(reader, reader->at + 8);
  if (left < RECORD_SIZE || size > left - RECORD_SIZE)
    return error_set(error, STATUS_BAD_DATA, "%s: ends in the middle of the record at byte %zu, or that record is damaged", path,
                     reader->at);
  const int64_t whole_s = number(reader, reader->at);
  const uint8_t *frame = reader->bytes + reader->at + RECORD_SIZE;
  if (!reader->begun) reader->origin_s = whole_s;
  reader->begun = true;
  const double time_s = (double)(whole_s - reader->origin_s) + reader->tick_s * number(reader, reader->at + 4);
  reader->at += RECORD_SIZE + size;
  if (size < FRAME_HEAD) return STATUS_OK;
  const uint32_t identifier = number_high(frame);
  const size_t length = frame[4];
  const bool from_engine = identifier == ANSWER_ID || identifier == (CAN_LONG | ANSWER_LONG);
  if ((identifier & CAN_OTHER) == 0 && from_engine && length <= 8 && length <= size - FRAME_HEAD)
    take_frame(reader, frame + FRAME_HEAD, length, time_s);
  return STATUS_OK;
}

static enum status read_records(const char *path, struct reader *reader, struct error *error) {
  enum status status = read_header(path, reader, error);
  while (status == STATUS_OK && reader->at < reader->size) status = read_record(path, reader, error);
  if (status == STATUS_OK && reader->answers == 0)
    return error_set(error, STATUS_BAD_DATA,
                     "%s: the engine computer (7E8, 18DAF110) gives no answer that is known in service 01", path);
  return status;
}

enum status capture_read_text(const char *path, const char *bytes, size_t size, char **text, size_t *text_size,
                              struct error *error) {
  *text = NULL;
  *text_size = 0;
  struct reader *reader = calloc(1, sizeof *reader);
  FILE *stream = open_memstream(text, text_size);
  enum status status = STATUS_NO_MEMORY;
  if (reader && stream) {
    reader->bytes = (const uint8_t *)bytes;
    reader->size = size;
    reader->text = stream;
    fputs("Time (s),Name,Value,Unit\n", stream);
    status = read_records(path, reader, error);
  }
  free(reader);
  if ((stream && fclose(stream) != 0) || status == STATUS_NO_MEMORY)
    status = error_set(error, STATUS_NO_MEMORY, "%s: out of memory", path);
  if (status == STATUS_OK) return status;
  free(*text);
  *text = NULL;
  return status;
}
