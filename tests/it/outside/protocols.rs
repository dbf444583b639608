//! Interval protocols as they were published: the program lays each out in exactly the seconds
//! that its authors give.
//!
//! Beside each value its source and how it was read: R, the text itself; R2, a page that quotes
//! it; M, from memory. Where a source gives one of the two totals, the other is that with one rest
//! more or less.

use sidevoice::planning::session::Session;
use sidevoice::planning::timeline::SegmentKind;
use sidevoice::planning::timeline::Timeline;
use sidevoice::planning::timeline::timeline;

use super::texts;

struct Protocol {
    source: &'static str,
    /// The blocks, without their movements.
    blocks: &'static [&'static str],
    /// How many works there are, and how long they are together.
    works: usize,
    work_s: i64,
    /// The works with the rests between them, without and with the rest after the last.
    total_s: i64,
    total_with_last_rest_s: i64,
}

const PROTOCOLS: [Protocol; 11] = [
    Protocol {
        source: "Tabata et al. 1996, Med Sci Sports Exerc 28(10):1327-30 (R2): 8 sets of 20 s, 10 s rest",
        blocks: &["rounds = 8\nwork = \"20s\"\nrest = \"10s\""],
        works: 8,
        work_s: 160,
        total_s: 230,
        total_with_last_rest_s: 240,
    },
    Protocol {
        source: "Tabata et al. 1996 (R2): 7 sets",
        blocks: &["rounds = 7\nwork = \"20s\"\nrest = \"10s\""],
        works: 7,
        work_s: 140,
        total_s: 200,
        total_with_last_rest_s: 210,
    },
    Protocol {
        source: "Klika & Jordan 2013, ACSM's Health & Fitness J 17(3):8-13 (R2): 12 of 30 s, 10 s between",
        blocks: &["rounds = 12\nwork = \"30s\"\nrest = \"10s\""],
        works: 12,
        work_s: 360,
        total_s: 470,
        total_with_last_rest_s: 480,
    },
    Protocol {
        source: "Hov et al. 2022, doi 10.1111/sms.14251 (R): 4 of 4 min, 3 min between",
        blocks: &["rounds = 4\nwork = \"4m\"\nrest = \"3m\""],
        works: 4,
        work_s: 960,
        total_s: 1500,
        total_with_last_rest_s: 1680,
    },
    Protocol {
        source: "Hov et al. 2022 (R): 8 of 20 s, 10 s between",
        blocks: &["rounds = 8\nwork = \"20s\"\nrest = \"10s\""],
        works: 8,
        work_s: 160,
        total_s: 230,
        total_with_last_rest_s: 240,
    },
    Protocol {
        source: "Hov et al. 2022 (R): 10 of 30 s, 3.5 min between",
        blocks: &["rounds = 10\nwork = \"30s\"\nrest = \"3m30s\""],
        works: 10,
        work_s: 300,
        total_s: 2190,
        total_with_last_rest_s: 2400,
    },
    Protocol {
        // How a minute is shared between work and rest is the athlete's own affair: it is one work.
        source: "Smith et al. 2025, Front Physiol 15:1511961 (R): every minute, 5 rounds of 4",
        blocks: &["rounds = 20\nwork = \"1m\""],
        works: 20,
        work_s: 1200,
        total_s: 1200,
        total_with_last_rest_s: 1200,
    },
    Protocol {
        source: "Gibala (M): 10 of 60 s, 60 s between",
        blocks: &["rounds = 10\nwork = \"1m\"\nrest = \"1m\""],
        works: 10,
        work_s: 600,
        total_s: 1140,
        total_with_last_rest_s: 1200,
    },
    Protocol {
        source: "BMJ Open Sport & Exercise Medicine, table 1 (R): 10 + 4x4 + 3x3 + 3 = 38 min",
        blocks: &[
            "work = \"10m\"",
            "rounds = 4\nwork = \"4m\"\nrest = \"3m\"",
            "work = \"3m\"",
        ],
        works: 6,
        work_s: 29 * 60,
        total_s: 2280,
        total_with_last_rest_s: 2280 + 180,
    },
    Protocol {
        source: "the same table (R): 10 + 6x1 + 5x3 + 7 = 38 min",
        blocks: &[
            "work = \"10m\"",
            "rounds = 6\nwork = \"1m\"\nrest = \"3m\"",
            "work = \"7m\"",
        ],
        works: 8,
        work_s: 23 * 60,
        total_s: 2280,
        total_with_last_rest_s: 2280 + 180,
    },
    Protocol {
        source: "the same table (R): 10 + 3x5 + 2x3 + 7 = 38 min",
        blocks: &[
            "work = \"10m\"",
            "rounds = 3\nwork = \"5m\"\nrest = \"3m\"",
            "work = \"7m\"",
        ],
        works: 5,
        work_s: 32 * 60,
        total_s: 2280,
        total_with_last_rest_s: 2280 + 180,
    },
];

const STROKE: &str = "name = \"standing stroke\"\npattern = \"pull\"\nstart = \"Feet under your hips.\"\n\
                      how = [\"Tip from the hips, then stand and draw.\"]\n";

fn read(protocol: &Protocol, movements: &str, last_rest: bool) -> Session {
    let mut text = "title = \"Boathouse intervals\"\n".to_owned();
    for block in protocol.blocks {
        text +=
            &format!("\n[[block]]\n{block}\nlast_rest = {last_rest}\nmovements = {movements}\n");
    }
    let stroke = ("stroke".to_owned(), STROKE.to_owned());
    texts::session("sessions/intervals.toml", &text, &[stroke])
}

fn seconds(timeline: &Timeline, kind: SegmentKind) -> i64 {
    let of_kind = timeline.segments.iter().filter(|s| s.kind == kind);
    of_kind.map(|s| s.length().ms()).sum::<i64>() / 1000
}

#[test]
fn published_protocols_take_their_published_time() {
    for protocol in &PROTOCOLS {
        for (last_rest, total_s) in [
            (false, protocol.total_s),
            (true, protocol.total_with_last_rest_s),
        ] {
            let session = read(protocol, "[\"stroke\"]", last_rest);
            let timeline = timeline(&session, &[]);
            let said = format!("{}, last rest {last_rest}", protocol.source);
            assert_eq!(timeline.training_time().ms(), total_s * 1000, "{said}");
            assert_eq!(timeline.works.len(), protocol.works, "{said}");
            assert_eq!(
                seconds(&timeline, SegmentKind::Work),
                protocol.work_s,
                "{said}"
            );
            assert_eq!(
                seconds(&timeline, SegmentKind::Rest),
                total_s - protocol.work_s,
                "{said}"
            );
        }
    }
}

#[test]
fn rounds_of_several_movements_take_the_time_of_as_many_rounds_of_one() {
    // Klika & Jordan list 12 movements once, Smith et al. 5 rounds of 4.
    for (at, rounds, movements, wanted_s) in [(2, 1, 12, 470), (6, 5, 4, 1200)] {
        let protocol = &PROTOCOLS[at];
        let (_, rest) = protocol.blocks[0].split_once('\n').unwrap();
        let block = format!("rounds = {rounds}\n{rest}");
        let uses = format!("[{}]", "\"stroke\", ".repeat(movements));
        let text = format!("title = \"Rounds\"\n[[block]]\n{block}\nmovements = {uses}\n");
        let stroke = ("stroke".to_owned(), STROKE.to_owned());
        let session = texts::session("sessions/rounds.toml", &text, &[stroke]);
        let laid_out = timeline(&session, &[]);
        assert_eq!(
            laid_out.training_time().ms(),
            wanted_s * 1000,
            "{}",
            protocol.source
        );
        assert_eq!(laid_out.works.len(), protocol.works, "{}", protocol.source);
    }
}
