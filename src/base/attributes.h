/* Small compiler helpers that every layer uses. */
#ifndef BASE_ATTRIBUTES_H
#define BASE_ATTRIBUTES_H

#define ARRAY_COUNT(array) (sizeof(array) / sizeof((array)[0]))

/* The caller must look at the result. */
#define MUST_CHECK __attribute__((warn_unused_result))

/* The format string is argument f, its values begin at argument v. */
#define PRINTF_LIKE(f, v) __attribute__((format(printf, f, v)))

/* The answer follows from the arguments and what they point at, nothing else is touched: asked twice, it need be found once. */
#define PURE __attribute__((pure))

/* Not merged into its caller, whose frame would grow by this one's: stacks may be small. */
#define OWN_FRAME __attribute__((noinline))

#endif
