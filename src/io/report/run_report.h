/* What a run says when it is done: the headline, how it went, what may surprise, the codes; and all the rest. For people and as JSON. */
#ifndef IO_REPORT_RUN_REPORT_H
#define IO_REPORT_RUN_REPORT_H

#include "analysis/run/explain.h"
#include "sim/scan.h"

#include <stdio.h>

struct json;

enum { RUN_REPORT_FILE_MAX = 64 }; // a picture a panel in two formats, and the rest

struct run_report {
  const struct scenario *scenario;
  const struct engine *engine;
  const struct recording *recording;
  const struct story *story;
  const struct explanation *explanation;
  bool all;                // everything, not only what is read first
  const struct scan *last; // what a scan tool finds at the end; NULL if that is not known
  const struct scan *streams;
  size_t stream_count;
  bool us; // tables in US units
  size_t file_count;
  const char *files[RUN_REPORT_FILE_MAX];
};

/* A moment of the story with the name it has in reports. */
struct run_report_moment {
  const char *name;  // JSON key
  const char *label; // for people
  const struct story_moment *moment;
};
enum { RUN_REPORT_MOMENT_MAX = 6 };

/* The moments that happened, in order of time; returns how many. */
size_t run_report_moments(const struct story *story, struct run_report_moment moments[RUN_REPORT_MOMENT_MAX]);

MUST_CHECK enum status run_report_print(const struct run_report *report, FILE *stream, struct error *error);

/* The run's members, into the object that is open. */
void run_report_put_json(const struct run_report *report, struct json *json);

#endif
