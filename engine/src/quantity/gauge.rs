//! American wire gauge.
//!
//! ASTM B258 sets No. 36 at 0.005 in and No. 4/0 at 0.46 in, with the 38 sizes between in geometric steps:
//! d = 0.005 in × 92^((36 − n) / 39). The table holds the results as integers, so that every machine has the same ones;
//! a test works them out again.

/// Diameter \[nm\] and cross-section \[µm²\] of each gauge from 4/0 (number -3) to 40.
const GAUGES: [(i64, i64); 44] = [
    (11_684_000, 107_219_303),
    (10_404_902, 85_028_773),
    (9_265_833, 67_430_882),
    (8_251_463, 53_475_121),
    (7_348_140, 42_407_699),
    (6_543_707, 33_630_834),
    (5_827_340, 26_670_464),
    (5_189_396, 21_150_639),
    (4_621_291, 16_773_220),
    (4_115_378, 13_301_768),
    (3_664_850, 10_548_782),
    (3_263_643, 8_365_564),
    (2_906_358, 6_634_194),
    (2_588_187, 5_261_155),
    (2_304_847, 4_172_286),
    (2_052_525, 3_308_773),
    (1_827_827, 2_623_976),
    (1_627_727, 2_080_908),
    (1_449_532, 1_650_235),
    (1_290_846, 1_308_696),
    (1_149_531, 1_037_843),
    (1_023_687, 823_047),
    (911_620, 652_706),
    (811_821, 517_619),
    (722_947, 410_491),
    (643_803, 325_534),
    (573_323, 258_160),
    (510_559, 204_730),
    (454_666, 162_359),
    (404_892, 128_756),
    (360_567, 102_108),
    (321_094, 80_976),
    (285_942, 64_217),
    (254_639, 50_926),
    (226_763, 40_386),
    (201_938, 32_028),
    (179_831, 25_399),
    (160_144, 20_142),
    (142_612, 15_974),
    (127_000, 12_668),
    (113_097, 10_046),
    (100_716, 7_967),
    (89_690, 6_318),
    (79_871, 5_010),
];

/// The number of the first gauge in the table: 4/0.
const FIRST: i8 = -3;

fn gauge(number: i8) -> Option<(i64, i64)> {
    let at = number.checked_sub(FIRST)?;
    GAUGES.get(usize::try_from(at).ok()?).copied()
}

/// Returns the cross-section of a gauge \[µm²\].
pub(super) fn area(number: i8) -> Option<i64> {
    gauge(number).map(|(_, area)| area)
}

/// Returns the diameter of a gauge \[nm\].
pub(super) fn diameter(number: i8) -> Option<i64> {
    gauge(number).map(|(diameter, _)| diameter)
}

/// Returns the gauge that has exactly a cross-section \[µm²\].
pub(super) fn number(area: i64) -> Option<i8> {
    let at = GAUGES.binary_search_by(|&(_, other)| area.cmp(&other)).ok()?;
    Some(i8::try_from(at).ok()? + FIRST)
}

/// Returns the diameter \[nm\] of a circle with an area \[µm²\], rounded.
pub(super) fn diameter_of(area: i64) -> i64 {
    // 4/π with 18 decimals.
    const FOUR_OVER_PI: u128 = 1_273_239_544_735_162_686;
    // µm² → nm², and two more digits under the root to round by.
    let square = u128::from(area.unsigned_abs()) * 1_000_000 * FOUR_OVER_PI / 1_000_000_000_000_000_000;
    let twice = (square * 4).isqrt();
    i64::try_from(twice.div_ceil(2)).unwrap_or(i64::MAX)
}
