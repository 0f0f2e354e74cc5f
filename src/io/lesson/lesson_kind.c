#include "io/lesson/lesson_kind.h"

#include "base/attributes.h"

const struct lesson_kind_row lesson_kind_rows[LESSON_KIND_COUNT] = {
#define KIND(name, second) {#name, LESSON_KIND_SECOND_##second},
    LESSON_KIND_LIST(KIND)
#undef KIND
};

const char *const lesson_kind_sorts[LESSON_SORT_COUNT] = {
#define SORT(name) #name,
    LESSON_SORT_LIST(SORT)
#undef SORT
};

// clang-format off
#define OF(kind) LESSON_KIND_##kind, -1
#define ASKS(sort) LESSON_KIND_question, LESSON_SORT_##sort
const struct lesson_kind_key lesson_kind_keys[] = {
    {OF(lesson), "minutes", LESSON_KIND_ONE}, {OF(lesson), "aim", LESSON_KIND_SOME}, {OF(lesson), "against", LESSON_KIND_SOME},
    {OF(lesson), "needs", LESSON_KIND_MAYBE},
    {OF(run), "scenario", LESSON_KIND_ONE}, {OF(run), "set", LESSON_KIND_ANY}, {OF(run), "scale", LESSON_KIND_ANY},
    {OF(run), "freeze", LESSON_KIND_ANY}, {OF(run), "seed", LESSON_KIND_MAYBE}, {OF(run), "label", LESSON_KIND_MAYBE},
    {OF(settle), "engine", LESSON_KIND_ONE}, {OF(settle), "set", LESSON_KIND_ANY}, {OF(settle), "scale", LESSON_KIND_ANY},
    {OF(settle), "stale-learned", LESSON_KIND_MAYBE}, {OF(settle), "engine-off", LESSON_KIND_MAYBE},
    {OF(settle), "label", LESSON_KIND_MAYBE},
    {OF(sweep), "engine", LESSON_KIND_ONE}, {OF(sweep), "vary", LESSON_KIND_ONE}, {OF(sweep), "set", LESSON_KIND_ANY},
    {OF(sweep), "scale", LESSON_KIND_ANY}, {OF(sweep), "label", LESSON_KIND_MAYBE},
    {OF(estimate), "engine", LESSON_KIND_ONE}, {OF(estimate), "of", LESSON_KIND_MAYBE}, {OF(estimate), "read", LESSON_KIND_MAYBE},
    {OF(estimate), "reading", LESSON_KIND_ANY}, {OF(estimate), "set", LESSON_KIND_ANY},
    {OF(estimate), "baseline", LESSON_KIND_MAYBE}, {OF(estimate), "hide", LESSON_KIND_MAYBE},
    {OF(picture), "of", LESSON_KIND_ONE}, {OF(picture), "show", LESSON_KIND_MAYBE}, {OF(picture), "draw", LESSON_KIND_MAYBE},
    {OF(picture), "from", LESSON_KIND_MAYBE}, {OF(picture), "to", LESSON_KIND_MAYBE}, {OF(picture), "title", LESSON_KIND_MAYBE},
    {OF(picture), "caption", LESSON_KIND_MAYBE},
    {OF(readings), "of", LESSON_KIND_ONE}, {OF(readings), "show", LESSON_KIND_ONE}, {OF(readings), "at", LESSON_KIND_MAYBE},
    {OF(readings), "caption", LESSON_KIND_MAYBE},
    {OF(live), "scenario", LESSON_KIND_ONE}, {OF(live), "set", LESSON_KIND_ANY}, {OF(live), "at", LESSON_KIND_MAYBE},
    {OF(live), "title", LESSON_KIND_ONE}, {OF(live), "show", LESSON_KIND_MAYBE}, {OF(live), "blind", LESSON_KIND_MAYBE},
    {OF(caution), "engine", LESSON_KIND_ONE}, {OF(caution), "step", LESSON_KIND_SOME},
    {OF(table), "head", LESSON_KIND_ONE}, {OF(table), "row", LESSON_KIND_SOME}, {OF(table), "caption", LESSON_KIND_MAYBE},
    {OF(say), "point", LESSON_KIND_SOME},
    {OF(check), "claim", LESSON_KIND_SOME},
    {OF(question), "ask", LESSON_KIND_ONE},
    {ASKS(choice), "option", LESSON_KIND_SOME}, {ASKS(choice), "why", LESSON_KIND_ONE},
    {ASKS(number), "answer", LESSON_KIND_ONE}, {ASKS(number), "unit", LESSON_KIND_ONE}, {ASKS(number), "decimals", LESSON_KIND_ONE},
    {ASKS(number), "tolerance", LESSON_KIND_ONE}, {ASKS(number), "why", LESSON_KIND_ONE},
    {ASKS(predict), "option", LESSON_KIND_ANY}, {ASKS(predict), "then", LESSON_KIND_ONE}, {ASKS(predict), "why", LESSON_KIND_ONE},
    {ASKS(text), "model", LESSON_KIND_ONE}, {ASKS(text), "point", LESSON_KIND_ANY}, {ASKS(text), "lines", LESSON_KIND_MAYBE},
};
// clang-format on
const size_t lesson_kind_key_count = ARRAY_COUNT(lesson_kind_keys);

bool lesson_kind_has(const struct lesson_kind_key *row, enum lesson_kind kind, int sort) {
  return row->kind == kind && (row->sort < 0 || row->sort == sort);
}
