"""Seeds that nobody chose: the decimal digits of pi in blocks of four, 3141, 5926, 5358, ..."""
import functools

import numpy


@functools.lru_cache(maxsize=None)
def pi_digits(count):
    """The first digits of pi, 3 included, by Machin's formula in whole numbers."""
    unit = 10 ** (count + 10)

    def arctan_of_inverse(x):
        term = total = unit // x
        n, sign = 3, -1
        while term:
            term //= x * x
            total += sign * (term // n)
            n, sign = n + 2, -sign
        return total

    pi = 4 * (4 * arctan_of_inverse(5) - arctan_of_inverse(239))
    return str(pi)[:count]


def block(index):
    """Block number `index` of four digits, as a whole number: block(0) is 3141."""
    return int(pi_digits(4 * index + 4)[4 * index:])


def stream(index, *path):
    """Random numbers of one block; `path` parts them, so that one draw more here moves nothing there. The block's number goes
    in with its digits: pi has the same four digits twice among its first hundred blocks."""
    return numpy.random.default_rng([block(index), index, *path])
