#include "commands/listing.h"

#include <assert.h>
#include <math.h>

void listing_init(struct listing *listing, const char *name, size_t column_count, const char *const *columns, bool as_json) {
  *listing = (struct listing){.name = name, .column_count = column_count, .columns = columns, .as_json = as_json};
  text_table_init(&listing->table, column_count, columns);
  if (!as_json) return;
  listing->json = json_create();
  json_open_array(listing->json, name);
}

static const char *begin_cell(struct listing *listing) {
  if (listing->column == 0) json_open_object(listing->json, NULL);
  return listing->columns[listing->column];
}

static void end_cell(struct listing *listing) {
  listing->column = (listing->column + 1) % listing->column_count;
  if (listing->column == 0) json_close(listing->json);
}

void listing_text(struct listing *listing, const char *text) {
  json_put_text(listing->json, begin_cell(listing), text);
  text_table_add(&listing->table, "%s", text);
  end_cell(listing);
}

void listing_real(struct listing *listing, double value) {
  const char *key = begin_cell(listing);
  if (value == floor(value) && fabs(value) < 1e15) {
    json_put_count(listing->json, key, (long long)value);
  } else {
    json_put_real(listing->json, key, value, 9);
  }
  text_table_add(&listing->table, "%.9g", value);
  end_cell(listing);
}

void listing_none(struct listing *listing) {
  json_put_null(listing->json, begin_cell(listing));
  text_table_add(&listing->table, "%s", "");
  end_cell(listing);
}

static void release(struct listing *listing) {
  json_destroy(listing->json);
  listing->json = NULL;
  text_table_destroy(&listing->table);
}

enum status listing_print(struct listing *listing, struct error *error) {
  assert(listing->column == 0);
  enum status status = STATUS_OK;
  if (listing->as_json) {
    status = json_print(listing->json, stdout, error);
  } else if (text_table_print(&listing->table, stdout, 0) != 0) {
    status = error_set(error, STATUS_NO_MEMORY, "no memory left for the list of %s", listing->name);
  }
  release(listing);
  return status;
}
