//! The page in front of a class, as a browser asks for it.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

#[path = "common/served.rs"]
mod served;

use served::{Answer, Served};

/// The part of a page from one mark to the next.
fn between<'a>(page: &'a str, from: &str, to: &str) -> &'a str {
    let rest = page.split_once(from).map(|(_, rest)| rest);
    assert!(rest.is_some(), "{from} is not in the page");
    let rest = rest.unwrap();
    rest.split(to).next().unwrap()
}

/// The table under a picture.
fn table<'a>(page: &'a str, id: &str) -> &'a str {
    let picture = between(page, &format!("<figure class=\"picture\" id=\"{id}\""), "</figure>");
    between(picture, "<table>", "</table>")
}

/// Cells of the columns after the first, one list a row.
fn column(table: &str, place: usize) -> Vec<String> {
    let rows = table.split("<tr>").skip(2);
    rows.map(|row| {
        row.split("<td>").nth(place).map_or("", |cell| cell.split("</td>").next().unwrap()).to_owned()
    })
    .collect()
}

/// Without the word of this start of the program.
fn without_token(page: &str) -> String {
    let token = between(page, "name=\"token\" content=\"", "\"");
    page.replace(token, "")
}

const WARM: &str = "/class?material=alginate&water=28";

#[test]
fn a_link_reproduces_the_state_byte_for_byte() {
    let link = "/class?material=alginate&water=28&frozen=yes&was.water=24&say.setting=less&hands.setting.less=12&reveal=yes";
    let (server, other) = (Served::demo(), Served::demo());
    let Answer { status, body: first, .. } = server.get(link);
    assert_eq!(status, 200);
    // Something else is asked for in between, and another start of the program knows nothing of the first.
    server.get("/class?material=agar");
    assert_eq!(first, server.get(link).body);
    assert_eq!(without_token(&first), without_token(&other.get(link).body));
    // A form says all its knobs; those as usual make no other state.
    let long = format!("{link}&room=23&humidity=50&wrap=open+air&delay=10");
    assert_eq!(first, server.get(&long).body);
    assert!(first.contains(&format!("href=\"{}\"", link.replace('&', "&amp;"))), "its link is on the page");
    let hash = between(&first, "and parameters ", ":");
    assert!(hash.len() == 12 && hash.chars().all(|c| c.is_ascii_hexdigit()), "{hash}");
}

#[test]
fn before_the_reveal_nothing_of_the_new_state_leaves_the_server() {
    let server = Served::demo();
    let usual = server.get("/class?material=alginate").body;
    let shown = server.get(&format!("{WARM}&ask=no")).body;
    for link in [
        WARM.to_owned(),
        format!("{WARM}&reveal=yes"),
        format!("{WARM}&say.working=less"),
        format!("{WARM}&hands.chance.same=4"),
    ] {
        for asked in [
            link.clone(),
            link.replace("/class?", "/class/parts?"),
            link.replace("/class?", "/class/parts?points=first&"),
        ] {
            let page = server.get(&asked).body.replace("\\\"", "\"");
            assert!(page.contains("Say before it is shown"), "{asked}");
            for id in [
                "class-cure",
                "class-warm",
                "class-chance",
                "class-strain",
                "class-part-evaporation",
                "class-mass",
                "class-met",
            ] {
                let (kept_back, before, after) = (table(&page, id), table(&usual, id), table(&shown, id));
                assert!(!kept_back.contains("now"), "{asked} {id}");
                // The one column that is there is that of the usual state.
                assert_eq!(column(kept_back, 1), column(before, 1), "{asked} {id}");
                assert_eq!(column(after, 2), column(before, 1), "{asked} {id}");
            }
            assert!(!page.contains("holds in") && !page.contains("forecast now"), "{asked}");
        }
    }
    // What would be given away differs: warmer water sets sooner.
    assert_ne!(column(table(&shown, "class-cure"), 1), column(table(&usual, "class-cure"), 1));
    // The pedigree of a number explains the state that is shown.
    let of = |query: &str| server.get(&format!("/class/source/mix.temperature?{query}")).body;
    let pedigree = |page: &str| between(page, "<section class=\"sheet pedigree\">", "</section>").to_owned();
    assert_eq!(pedigree(&of("material=alginate&water=28")), pedigree(&of("material=alginate")));
    assert_ne!(pedigree(&of("material=alginate&water=28&ask=no")), pedigree(&of("material=alginate")));
}

#[test]
fn what_was_said_stands_beside_what_comes() {
    let server = Served::demo();
    let page = server.get(&format!("{WARM}&hands.setting.less=12&hands.setting.more=1&reveal=yes")).body;
    let row = between(&page, "Setting time, to removal", "</tr>");
    assert!(row.contains("12 hands") && row.contains("1 hand"), "{row}");
    // Eight degrees in the water shorten the setting in almost every sample.
    assert!(row.contains("<td class=\"told\">shorter") && row.contains("<b>shorter</b>"), "{row}");
    let told: f64 = between(between(row, "class=\"told\"", "</td>"), "holds in ", " %").parse().unwrap();
    assert!(told >= 80.0, "{row}");
    // Adhesive has no part in setting, sample by sample.
    let page = server.get("/class?material=alginate&adhesive=false&say.setting=more&reveal=yes").body;
    let row = between(&page, "Setting time, to removal", "</tr>");
    assert!(row.contains("<b>no change that matters</b>") && row.contains("✓ said"), "{row}");
}

#[test]
fn the_frozen_curve_stays_while_knobs_turn() {
    let server = Served::demo();
    let frozen = server.get("/class?material=addition-silicone&room=30&ask=no").body;
    let link =
        |room: u32| format!("/class?material=addition-silicone&room={room}&frozen=yes&was.room=30&ask=no");
    let of = |page: &str, place: usize| column(table(page, "class-strain"), place);
    for room in [26, 18] {
        let page = server.get(&link(room)).body;
        assert_eq!(of(&page, 2), of(&frozen, 1), "{room}");
        assert_ne!(of(&page, 1), of(&page, 2));
        assert!(page.contains("class=\"curve held\""), "it is told by its dashes too");
        assert!(page.contains("<text class=\"lab\"") && page.contains(">frozen</text>"));
    }
    // Freezing is a link too.
    let Answer { status, head, .. } =
        server.get("/class?material=addition-silicone&room=30&ask=no&do=freeze");
    assert_eq!(status, 303);
    assert!(
        head.contains("/class?material=addition-silicone&room=30&frozen=yes&was.room=30&ask=no"),
        "{head}"
    );
    let Answer { head, .. } = server.get("/class?material=agar&room=30&do=reveal");
    assert!(!head.contains("reveal=yes"), "nobody has said anything: {head}");
}

#[test]
fn a_refused_knob_says_why_beside_itself() {
    let server = Served::demo();
    for (query, knob, why) in [
        ("material=alginate&water=80", "water", "allowed 1 to 45"),
        ("material=alginate&ratio=90", "ratio", "route.mix.water"),
        ("material=alginate&ratio=much", "ratio", "allowed a number"),
        ("material=agar&delay=90000", "delay", "allowed"),
        ("material=polyether&sulcus=blood", "sulcus", "situation.bleeding"),
        ("material=polyether&wrap=in+a+drawer", "wrap", "open air"),
        ("material=polyether&room=%3Cb%3E", "room", "&lt;b&gt;"),
    ] {
        for ask in ["", "&ask=no"] {
            let Answer { status, body: page, .. } = server.get(&format!("/class?{query}{ask}"));
            assert_eq!(status, 422, "{query}");
            let beside = between(&page, &format!("id=\"by-{knob}\""), "</p>");
            assert!(beside.contains("Refused") && beside.contains(why), "{query}: {beside}");
            assert!(!page.contains("holds in") && page.contains("id=\"class-cure\""), "{query}");
        }
    }
    // A link that somebody made up is no reason to fail.
    assert_eq!(
        server.get("/class?material=nothing&water=%00&was.room=900&frozen=yes&hands.x.y=z&view=q").status,
        422
    );
}

#[test]
fn a_class_has_the_knobs_that_it_has() {
    let server = Served::demo();
    for (material, there, absent) in [
        ("alginate", vec!["water", "ratio"], vec!["bath"]),
        ("extended-alginate", vec!["water", "ratio"], vec!["bath"]),
        ("agar", vec!["bath"], vec!["water", "ratio"]),
        ("polysulfide", vec![], vec!["bath", "water", "ratio"]),
        ("condensation-silicone", vec![], vec!["bath", "water", "ratio"]),
        ("addition-silicone", vec![], vec!["bath", "water", "ratio"]),
        ("polyether", vec![], vec!["bath", "water", "ratio"]),
        ("hybrid", vec![], vec!["bath", "water", "ratio"]),
    ] {
        let Answer { status, body: page, .. } = server.get(&format!("/class?material={material}"));
        assert_eq!(status, 200, "{material}");
        let has = |knob: &str| page.contains(&format!("id=\"k-{knob}\""));
        let every = [
            "room", "humidity", "sulcus", "seat", "remove", "pull", "undercut", "relief", "adhesive", "wrap",
            "delay", "stone",
        ];
        assert!(every.iter().chain(&there).all(|knob| has(knob)), "{material}");
        assert!(!absent.iter().any(|knob| has(knob)), "{material}");
        // Each turned a little is a case that the chain takes.
        let link = format!(
            "/class?material={material}&ask=no&room=27&humidity=70&sulcus=damp&seat=70&remove=400&pull=slow+pull&undercut=0.6&relief=3.5&adhesive=false&wrap=immersed&delay=20&stone=type+3"
        );
        let Answer { status, body: page, .. } = server.get(&link);
        assert_eq!(status, 200, "{material}: {}", between(&page, "id=\"class-say\"", "</div>"));
        assert!(page.contains("more than one knob"), "{material}");
        for wrap in ["sealed+dry", "sealed+humid", "wrapped+wet"] {
            assert_eq!(
                server.get(&format!("/class?material={material}&ask=no&wrap={wrap}")).status,
                200,
                "{material} {wrap}"
            );
        }
    }
}

#[test]
fn every_number_has_a_way_to_its_pedigree() {
    let server = Served::demo();
    for link in [
        "/class?material=alginate&wrap=immersed&ask=no",
        "/class?material=polyether&humidity=80",
        "/class?material=condensation-silicone&delay=600&say.die=less&reveal=yes",
    ] {
        let page = server.get(link).body;
        let ways: std::collections::BTreeSet<&str> = page
            .split("<a class=\"key\" href=\"")
            .skip(1)
            .map(|rest| rest.split('"').next().unwrap())
            .collect();
        assert!(ways.len() >= 10, "{link}: {ways:?}");
        for way in ways {
            let Answer { status, body, .. } = server.get(&way.replace("&amp;", "&"));
            assert!(status == 200 && body.contains("pedigree"), "{link}: {way}: {status}");
        }
    }
}
