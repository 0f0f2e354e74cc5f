/* A scene that has run, and what is told of it. */
#ifndef SUPPORT_TOLD_H
#define SUPPORT_TOLD_H

#include "support/scene.h"

#include "analysis/run/explain.h"

struct told {
  struct scene scene;
  struct story story;
  struct explanation explanation;
};

/* Runs the scene with the fixed-step solver and has it told. */
void told_tell(struct told *told);

/* The first sentence with this text in it, from there on; NULL if none. */
const char *told_sentence(const struct told *told, const char *text);

/* The first claim of a kind, NULL if none; one of its values, of which the test fails if there is none. */
const struct claim *told_claim(const struct told *told, enum claim_kind kind);
double told_value(const struct told *told, enum claim_kind kind, const char *name);

/* Mean of a channel over the rows that a value of the claim was taken from. */
double told_mean(const struct told *told, enum claim_kind kind, const char *name, enum channel channel);

#endif
