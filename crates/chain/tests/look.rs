mod common;
#[test]
fn look() {
    for case in [common::silicone_crown(), common::alginate_cast()] {
        let t = std::time::Instant::now();
        let f = case.forecast(512);
        eprintln!("time {:?}", t.elapsed());
        eprintln!("{:?}", f.verdict);
        for w in &f.windows {
            eprintln!(
                "{} opens {:?} {:?} | closes {:?} {:?} {:?} plan {:?}",
                w.action,
                w.opens.forecast_s,
                w.opens.binding_s,
                w.closes.forecast_s,
                w.closes.binding_s,
                w.state,
                w.planned_s
            );
        }
        for q in &f.quantities {
            eprintln!("{} {} {:?} {:.3}", q.id, q.si_unit, q.interval, q.defined_in);
            for c in q.contributions.iter().take(4) {
                eprintln!("      {} {:.2} {}", c.words, c.share, c.grade);
            }
        }
        for b in &f.budgets {
            eprintln!(
                "{:?} total {:.1} base {:.1} inter {:.1}",
                b.measure,
                b.total_m * 1e6,
                b.base_m * 1e6,
                b.interaction_m * 1e6
            );
            for x in &b.bars {
                eprintln!(
                    "      {} {:.1} [{:.1} {:.1}]",
                    x.link,
                    x.mean_m * 1e6,
                    x.interval_m.low * 1e6,
                    x.interval_m.high * 1e6
                );
            }
        }
        for p in &f.pour_curve {
            eprintln!(
                "   {:.0} s  P {:.3} D {:.1} [{:.1} {:.1}] hold {:.4}%",
                p.after_removal_s,
                p.within_limits,
                p.diameter_m.mid * 1e6,
                p.diameter_m.low * 1e6,
                p.diameter_m.high * 1e6,
                p.holding_strain.mid * 100.0
            );
        }
        eprintln!("{:?} {:?}", f.limits, f.change_first);
        eprintln!("{:?}", f.asks);
    }
}
