#include "analysis/estimate/estimate_hypothesis.h"

#include <stdio.h>

double estimate_node_severity(const struct estimate_hypothesis *h, const struct estimate_node *node, size_t place) {
  return cause_severity(h->fault.cause[place], node->share[place]);
}

struct estimate_fault estimate_node_fault(const struct estimate_hypothesis *h, const struct estimate_node *node) {
  struct estimate_fault fault = h->fault;
  for (size_t i = 0; i < fault.count; i++) fault.severity[i] = estimate_node_severity(h, node, i);
  return fault;
}

enum cause estimate_hypothesis_cause(const struct estimate_hypothesis *h) {
  return h->fault.cause[h->fault.count ? h->fault.count - 1 : 0];
}

bool estimate_hypothesis_is_unlisted(const struct estimate_hypothesis *h) {
  return h->fault.count == 0 && h->fault.cause[0] == CAUSE_unlisted;
}

int estimate_hypothesis_place(const struct estimate_hypothesis *h, enum cause cause) {
  for (size_t i = 0; i < h->fault.count; i++)
    if (h->fault.cause[i] == cause) return (int)i;
  return -1;
}

void estimate_hypothesis_name(const struct estimate_hypothesis *h, char name[ESTIMATE_NAME_SIZE]) {
  const char *first = cause_rows[h->fault.cause[0]].name;
  if (h->fault.count == 2)
    snprintf(name, ESTIMATE_NAME_SIZE, "%s and %s", first, cause_rows[h->fault.cause[1]].name);
  else
    snprintf(name, ESTIMATE_NAME_SIZE, "%s%s", first, h->fault.fresh ? ", offset fresh" : "");
}
