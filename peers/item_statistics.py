"""Item statistics, reliability, and agreement of markers, with general-purpose libraries.

Equations, with n in every denominator:

    alpha    k/(k-1) (1 - sum of item variances / variance of the totals); KR-20 where items are right or wrong
    interval 1 - (1 - alpha) F, F of n-1 and (n-1)(k-1) degrees of freedom (Feldt 1965)
    r        Pearson's correlation of an item with the total, and with the total of the other items
    D        share earned in the upper 27 % less that in the lower, those tied at an edge in equal parts
    kappa    (p_o - p_e)/(1 - p_e), unweighted, linear, quadratic; standard error of Fleiss, Cohen & Everitt (1969)

Data: responses of 1000 persons to the five items of section 6 of an admission test, as the frequencies of the 32 patterns in
Bock & Lieberman (1970), Psychometrika 35:179-197, read in two public repositories that agree; ten students by ten items of a
teaching file on KR-20 (K. Wuensch, East Carolina University); a table of two markers made here, one from the tests of statsmodels,
the illustration of Cohen (1968); the diagnoses of Fleiss (1971), from the same tests.

Libraries: numpy, scipy (stats), pandas, pingouin (cronbach_alpha), scikit-learn (cohen_kappa_score), statsmodels (cohens_kappa,
fleiss_kappa, proportion_confint). Prints JSON with all digits.
"""

import json

import numpy as np
import pandas as pd
import pingouin
from scipy import stats
from sklearn.metrics import cohen_kappa_score
from statsmodels.stats.inter_rater import cohens_kappa, fleiss_kappa
from statsmodels.stats.proportion import proportion_confint

# Patterns 00000, 00001, ... 11111, the first item in front.
SECTION_6 = [3, 6, 2, 11, 1, 1, 3, 4, 1, 8, 0, 16, 0, 3, 2, 15,
         10, 29, 14, 81, 3, 28, 15, 80, 16, 56, 21, 173, 11, 61, 28, 298]

TEN = "1111110110 1011011101 1111011001 0010001000 0000010010 1110111111 1101110111 1111111101 0101111101 1101101110"

# Made here: two markers, 60 cases, four levels.
MADE = [[9, 3, 1, 0], [2, 11, 4, 1], [1, 3, 12, 2], [0, 1, 2, 8]]

# Tests of statsmodels (stats/tests/test_inter_rater.py, table10).
PRINTED = [[0, 4, 1], [0, 8, 0], [0, 1, 5]]

# Fleiss (1971): 30 patients by six psychiatrists; same file.
DIAGNOSES = """444444 222555 233335 555555 222444 113333 333355 113334 114444 555555 144444 124444 222333 144444 224445
333335 111455 111112 224444 133555 555555 244444 224555 114444 144445 222224 111155 224444 133333 555555"""


def rows(frequencies):
    items = int(np.log2(len(frequencies)))
    patterns = [[int(c) for c in format(n, f"0{items}b")] for n in range(len(frequencies))]
    return np.repeat(np.array(patterns, float), frequencies, axis=0)


def upper_lower(earned, totals, share=0.27):
    """D by the totals that occur: of the tied at an edge, the mean counts for the places that are left."""
    size = share * len(totals)
    values, counts = np.unique(totals, return_counts=True)
    sums = np.array([earned[totals == value].mean(axis=0) for value in values])

    def mean_of_top(counts, sums):
        before = np.concatenate([[0], np.cumsum(counts)[:-1]])
        taken = np.clip(size - before, 0, counts)
        return (taken[:, None] * sums).sum(axis=0) / size

    return mean_of_top(counts[::-1], sums[::-1]) - mean_of_top(counts, sums)


def test_statistics(x):
    totals = x.sum(axis=1)
    k = x.shape[1]
    alpha, interval = pingouin.cronbach_alpha(pd.DataFrame(x), ci=0.95)
    frame = pd.DataFrame(x)
    exact = k / (k - 1) * (1 - x.var(axis=0).sum() / totals.var())
    # pingouin rounds the ends of its interval to three decimals: the exact ones, which must round to them.
    n = len(x)
    tail = [stats.f.isf(p, n - 1, (n - 1) * (k - 1)) for p in (0.025, 0.975)]
    ends = [1 - (1 - exact) * f for f in tail]
    assert np.allclose(ends, interval, atol=6e-4), (ends, interval)
    m = totals.mean()
    return {
        "mean": m,
        "sd": totals.std(),
        "alpha_pingouin": alpha,
        "alpha": exact,
        "interval": ends,
        "interval_pingouin": list(map(float, interval)),
        "kr21": k / (k - 1) * (1 - m * (k - m) / (k * totals.var())),
        "sem": totals.std() * np.sqrt(1 - exact),
        "p": x.mean(axis=0).tolist(),
        "wilson": [list(map(float, proportion_confint(int(c.sum()), n, method="wilson"))) for c in x.T],
        "r_total": [float(stats.pointbiserialr(c, totals).statistic) for c in x.T],
        "r_rest": [float(stats.pearsonr(c, totals - c).statistic) for c in x.T],
        "alpha_without": [float(pingouin.cronbach_alpha(frame.drop(columns=i))[0]) for i in range(k)],
        "discrimination": upper_lower(x, totals).tolist(),
    }


def agreement(table):
    table = np.array(table)
    a, b = zip(*[(i, j) for i in range(len(table)) for j in range(len(table)) for _ in range(table[i, j])])
    out = {}
    for name, weights in (("none", None), ("linear", "linear"), ("quadratic", "quadratic")):
        found = cohens_kappa(table, wt=weights)
        out[name] = {
            "kappa_sklearn": float(cohen_kappa_score(a, b, weights=weights, labels=range(len(table)))),
            "kappa_statsmodels": float(found.kappa),
            "standard_error": float(found.std_kappa),
            "interval": [float(found.kappa_low), float(found.kappa_upp)],
        }
    return out


def own_weights(table, disagreement):
    found = cohens_kappa(np.array(table), weights=np.array(disagreement, float))
    return {"kappa": float(found.kappa), "standard_error": float(found.std_kappa)}


def main():
    diagnoses = np.array([[case.count(str(level)) for level in range(1, 6)] for case in DIAGNOSES.split()])
    ten = np.array([[float(c) for c in row] for row in TEN.split()])
    print(json.dumps({
        "bock_lieberman": test_statistics(rows(SECTION_6)),
        "ten_by_ten": test_statistics(ten) | {
            "pq": (ten.mean(axis=0) * (1 - ten.mean(axis=0))).tolist(),
            "variance": float(ten.sum(axis=1).var()),
            "discrimination_groups_of_two": upper_lower(ten, ten.sum(axis=1), 0.2).tolist(),
        },
        "made": agreement(MADE),
        "printed": agreement(PRINTED),
        "cohen_1968": {
            "none": agreement([[88, 14, 18], [10, 40, 10], [2, 6, 12]])["none"],
            "own": own_weights([[88, 14, 18], [10, 40, 10], [2, 6, 12]], [[0, 1, 3], [1, 0, 6], [3, 6, 0]]),
        },
        "fleiss_1971": float(fleiss_kappa(diagnoses)),
        "f": {f"{p} {a} {b}": float(stats.f.ppf(p, a, b)) for p, a, b in
              ((0.975, 9, 81), (0.025, 9, 81), (0.975, 999, 3996), (0.025, 999, 3996), (0.975, 1, 4), (0.001, 2, 3),
               (0.999, 1999, 997501), (0.5, 0.5, 1e6))},
        "t": {f"{p} {d}": float(stats.t.ppf(p, d)) for p, d in ((0.975, 1), (0.975, 2), (0.975, 9), (0.975, 29), (0.9995, 4))},
    }, indent=1))


main()
