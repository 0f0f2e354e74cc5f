#include "analysis/settle/settle_query.h"

void settle_query_init(struct settle_query *query) {
  *query = (struct settle_query){0};
  conditions_init(&query->conditions);
}
