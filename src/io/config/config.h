/* A settings file as a tree of nodes, and the list of all that is wrong with it.
 *
 * The only place that knows libconfig. Readers walk the tree, note faults as they meet them, each with its
 * line, and ask for the report at the end: the user sees every fault of the file at once, in the order of its
 * lines. */
#ifndef IO_CONFIG_CONFIG_H
#define IO_CONFIG_CONFIG_H

#include "base/attributes.h"
#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

struct config;
struct config_setting_t; // libconfig's own: a node

enum config_kind { CONFIG_GROUP, CONFIG_LIST, CONFIG_TEXT, CONFIG_BOOLEAN, CONFIG_INTEGER, CONFIG_REAL };

struct config_value {
  enum config_kind kind;
  bool hexadecimal;  // an integer written as 0x...; libconfig may have wrapped it
  long long integer; // CONFIG_INTEGER; CONFIG_BOOLEAN: 0 or 1
  double real;       // CONFIG_REAL, CONFIG_INTEGER; infinite if it was too large
  const char *text;  // CONFIG_TEXT
};

enum { CONFIG_KEY_SIZE = 160, CONFIG_DESCRIPTION_SIZE = 80 };

/* Reads and parses a file. What prevents that is told in error: STATUS_NO_INPUT, STATUS_IO, STATUS_NO_MEMORY,
 * or STATUS_BAD_CONFIG for a syntax error or a key written twice (libconfig stops at the first of these). */
MUST_CHECK enum status config_open(const char *path, struct config **config, struct error *error);
void config_close(struct config *config);

/* Notes a fault in this line. */
void config_fault(struct config *config, int line, const char *format, ...) PRINTF_LIKE(3, 4);

/* The same; the text follows on "key 'group.key' ". */
void config_fault_at(struct config *config, const struct config_setting_t *node, const char *format, ...) PRINTF_LIKE(3, 4);

/* How many faults so far. */
size_t config_fault_count(const struct config *config);

/* Appends the faults to error, sorted by line, each as "path:line: text". STATUS_OK if there are none. */
MUST_CHECK enum status config_report(struct config *config, struct error *error);

/* The file's name without folder and ending, "four-16" of "models/four-16.cfg". A fault if it is size bytes
 * or longer. */
void config_stem(struct config *config, size_t size, char *stem);

/* A path that the file gives, seen from the file's own folder unless it begins with a slash. False if it does
 * not fit. */
MUST_CHECK bool config_resolve(const struct config *config, const char *path, size_t size, char *resolved);

const struct config_setting_t *config_root(const struct config *config);

/* NULL if the group has no such key, or is no group. */
const struct config_setting_t *config_member(const struct config_setting_t *group, const char *key);

/* Entries of a group or a list, in file order; 0 of anything else. */
size_t config_child_count(const struct config_setting_t *node);
const struct config_setting_t *config_child(const struct config_setting_t *node, size_t index);

int config_line(const struct config_setting_t *node);         // of the root: 1
const char *config_name(const struct config_setting_t *node); // empty in a list
struct config_value config_value(const struct config_setting_t *node);

/* "group.key"; entries of a list have the list's name. */
void config_key(const struct config_setting_t *node, size_t size, char *key);

/* What was found, for a message: "the text \"abc\"", "the number 3", "a group". */
void config_describe(const struct config_setting_t *node, size_t size, char *description);

#endif
