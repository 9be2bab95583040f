"""When a growing limb reaches a limit: the mathematics on one page.

**What is modelled.** The logarithm y of a size, since children differ, grow and are mis-measured by per cents. A
*channel* c is a dimension on a side at a level. At age a (years), with `today` the day of the forecast,

    y_c(a) = m(a') + L_c + (g_c - 1) * (m(a') - m(today')) + w_c(a),        a' = a * exp(t)

- m, the *typical child*: growth at average tempo (`service.anthropometry`; how it was derived stands beside the table).
- t, *tempo*: early and late developers live the same growth on a stretched clock. A grid of fifteen values,
  normal prior. Early children tend to be large for their age, so size is evidence about tempo.
- L, *level*: large or small for age. Its prior is wide enough for a residual limb, which no reference describes; part
  of it is the limb's own profile, so a girth taken at another level says less about the limit.
- g, *gain*: growth as a multiple of the typical child's. A residual limb's length has a small gain with a wide prior.
- w, *wander*: slow departures from the child's own course (gaining or losing weight), a Gaussian process with a
  Matern-3/2 covariance: growth has a rate, and the rate may turn. It nearly rests once a person is grown up, so an
  adult's forecast is nearly flat and says "not within three years".

Given t everything is Gaussian. Dimensions of a family share the tempo and have correlated L, g and w, which is how
weight sharpens a girth. The two families (soft: girths, weight, height; bony: hands and lengths) are independent.

**What is seen.** A reading is y plus a normal error known per method. A sock report is a reading too: with socks of
thickness s (mm, summed) worn snugly the girth is tight_at - 2 * pi * s, give or take; all reports share a relative
error of sock thickness. Any reading may be a gross error: a mixture over no, one or (past three readings) two bad ones,
whose error is then far wider. Sex, if unspecified, is one more thing to average over. The weights of tempo, sex and bad
readings are their marginal likelihoods (Rasmussen & Williams 2006, ch. 2 and 5).

**What is asked.** For each limit the first time T at which the *limb*, not a noisy reading of it, reaches its
tight_at: five hundred paths are drawn from the posterior at monthly steps by pathwise conditioning (Journel &
Huijbregts 1978; Wilson et al. 2020), straight between steps; T is infinite if three years are not enough; over several
limits the earliest counts. The random numbers are fixed, so the same case has the same answer, and since the paths do
not know the limit, a larger tight_at is never due earlier. Quantiles are those of T, infinite times included: dates
are never averaged.

**What is not assumed.** That the socket still fits because nobody complained (silence is not evidence: `already` is a
probability moved by readings and reports alone), nor that the limit tells how big the limb was at fitting.

Numbers and their sources: `priors.py`. Checks against other people's values: `tests/published`. Its record on children
who had no part in its numbers or its typical child, and what limits it: `tests/benchmarks/cross_validate.py`.
"""

from service.growth.model.explain import explain
from service.growth.model.forecast import MODEL, forecast

__all__ = ["MODEL", "explain", "forecast"]
