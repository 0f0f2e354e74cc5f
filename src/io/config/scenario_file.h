/* Scenario files (in scenarios/): an engine, how it stands at the start, and a timeline. */
#ifndef IO_CONFIG_SCENARIO_FILE_H
#define IO_CONFIG_SCENARIO_FILE_H

#include "base/attributes.h"
#include "base/error.h"
#include "base/field.h"
#include "sim/scenario.h"

#include <stdbool.h>

struct config;

/* A key of a scenario file. */
struct scenario_file_key {
  const char *place; // "file", "step" of the timeline
  const char *key;
  const char *kind; // "text", "number", "whole number", "choice", "group", "list"
  bool required;
  const struct field *field; // range or choices; NULL where there are none
  const char *otherwise;     // what holds without it; "" if nothing does
  const char *text;
};
extern const struct scenario_file_key scenario_file_keys[];
extern const size_t scenario_file_key_count;

/* Reads a scenario file, strictly; the caller owns *scenario and ends it with scenario_destroy, also after a
 * fault. STATUS_BAD_CONFIG with one line for each fault, or what config_open says. The engine file is looked
 * for, not read. */
MUST_CHECK enum status scenario_file_read(const char *path, struct scenario *scenario, struct error *error);

/* Whether an open settings file looks like a scenario, faults or not. */
bool scenario_file_recognises(const struct config *config);

#endif
