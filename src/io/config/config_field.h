/* Reads the values of rows (base/field.h) out of a settings file, strictly. Faults are noted in the config;
 * nothing here stops at the first.
 *
 * A value that is bad or missing leaves NaN behind in a FIELD_REAL or FIELD_SWITCH and a count of 0 in a
 * FIELD_CURVE, so that a later check between keys, which is false for NaN, adds no second message. */
#ifndef IO_CONFIG_CONFIG_FIELD_H
#define IO_CONFIG_CONFIG_FIELD_H

#include "base/field.h"
#include "io/config/config.h"

/* Reads one value into the struct at base. False if it was faulty. */
bool config_field_read(struct config *config, const struct config_setting_t *node, const struct field *field, void *base);

/* The value of field->key in this group. Required: a fault if it is absent. Optional: absent is good and
 * leaves what is in the struct. */
bool config_field_required(struct config *config, const struct config_setting_t *group, const struct field *field, void *base);
bool config_field_optional(struct config *config, const struct config_setting_t *group, const struct field *field, void *base);

/* Reads a group of rows below parent. A key without a default is required if the group is there; an optional group, or one
 * whose keys all have defaults, may be missing. base is where field_group.base counts from. hint tells
 * where all keys are listed, such as "bladegap list parameters". */
void config_field_group(struct config *config, const struct config_setting_t *parent, const struct field_group *group,
                        const char *hint, void *base);

/* The same over the values that stand in the struct already: what the group leaves out stays. An optional group of which nothing stands there
 * is read as a whole one. */
void config_field_group_over(struct config *config, const struct config_setting_t *parent, const struct field_group *group,
                             const char *hint, void *base);

/* Text of 1 to size - 1 bytes, plain (see config_text_is_plain). False if faulty. */
bool config_field_text(struct config *config, const struct config_setting_t *group, const char *key, size_t size, char *text);

/* Notes every key of the group that is not among names: what it may have meant, or what is allowed. A long
 * list is cut short with a hint where to find it; it is not if hint is NULL. */
void config_field_check_known(struct config *config, const struct config_setting_t *group, const char *const *names, size_t count,
                              const char *hint);

/* The same of a group's own keys. */
void config_field_check_keys(struct config *config, const struct config_setting_t *node, const struct field_group *group,
                             const char *hint);

/* Notes a fault and answers false unless node is a group (a list). */
bool config_field_is_group(struct config *config, const struct config_setting_t *node);
bool config_field_is_list(struct config *config, const struct config_setting_t *node);

#endif
