//! The bed that is made ahead by a thread: never waited for, never in the way.

use std::fs;
use std::thread::sleep;
use std::time::Duration;
use std::time::Instant;

use super::Folder;
use super::SECOND;
use super::amplitude;
use super::frames;
use super::pull;
use rtrb::Consumer;
use sidevoice::sound::mix::BedBlock;
use sidevoice::sound::music::BedNews;
use sidevoice::sound::music::BedThread;
use sidevoice::sound::music::Sequence;

/// Far longer than anything here takes.
const PATIENCE: Duration = Duration::from_secs(120);

/// Waits until something is so.
fn until(what: &str, mut so: impl FnMut() -> bool) {
    let began = Instant::now();
    while !so() {
        assert!(began.elapsed() < PATIENCE, "{what}");
        sleep(Duration::from_millis(5));
    }
}

/// Takes so many blocks as fast as they come.
fn take(from: &mut Consumer<BedBlock>, blocks: usize) -> Vec<BedBlock> {
    let mut taken = Vec::new();
    until("blocks come", || {
        while taken.len() < blocks
            && let Ok(block) = from.pop()
        {
            taken.push(block);
        }
        taken.len() == blocks
    });
    taken
}

fn started(folder: &Folder) -> (BedThread, Consumer<BedBlock>) {
    let (bed, from) = BedThread::start(None);
    bed.switch(folder.named());
    (bed, from)
}

fn notices(bed: &BedThread) -> Vec<String> {
    let news = bed.news().into_iter();
    let notices = news.filter_map(|it| match it {
        BedNews::Notice(notice) => Some(notice),
        BedNews::Begun(_) => None,
    });
    notices.collect()
}

#[test]
fn nothing_is_made_before_there_is_a_shelf() {
    let (bed, from) = BedThread::start(None);
    sleep(Duration::from_millis(100));
    assert!(from.slots() == 0 && !bed.has_ended());
    drop(bed);
    until("the thread ends", || from.is_abandoned());
}

#[test]
fn what_is_pushed_is_what_is_pulled_and_three_seconds_lie_ready() {
    let folder = Folder::new();
    folder.sine("a.flac", 500, 0.1, 5.0);
    folder.sine("b.mp3", 700, 0.1, 5.0);
    let (_bed, mut from) = started(&folder);
    until("the ring fills", || from.slots() == 3 * SECOND);
    let pushed = take(&mut from, 12 * SECOND);
    let pulled = pull(&mut folder.bed(), 12 * SECOND);
    assert!(frames(&pushed) == frames(&pulled));
    let loudness = |blocks: &[BedBlock]| blocks.iter().map(|b| b.loudness).collect::<Vec<_>>();
    assert_eq!(loudness(&pushed), loudness(&pulled));
}

#[test]
fn it_tells_what_is_skipped_and_changes_the_shelf_when_it_is_asked_to() {
    let (one, other) = (Folder::new(), Folder::new());
    one.sine("a.wav", 500, 0.1, 30.0);
    fs::write(one.at("b.mp3"), "?").unwrap();
    other.sine("a.wav", 800, 0.1, 30.0);
    let (bed, mut from) = started(&one);
    until("the ring fills", || from.slots() == 3 * SECOND);
    let mut told = Vec::new();
    until("a word", || {
        told.extend(notices(&bed));
        !told.is_empty()
    });
    assert!(
        told.len() == 1 && told[0].contains("b.mp3 is skipped"),
        "{told:?}"
    );
    bed.switch(other.named());
    let mut heard = 0;
    until("the other shelf", || {
        heard += 1;
        amplitude(&frames(&take(&mut from, SECOND / 2)), 800) > 0.06
    });
    // What lay ready is heard first: the ring holds three seconds, the fade takes two.
    assert!(heard >= 7, "after {heard} half seconds");
}

#[test]
fn what_it_tells_of_its_shelves_gives_the_same_music_again() {
    let (one, other) = (Folder::new(), Folder::new());
    one.sine("a.wav", 500, 0.1, 4.0);
    one.sine("b.wav", 600, 0.1, 4.0);
    other.sine("a.wav", 800, 0.1, 30.0);
    let (bed, mut from) = started(&one);
    let mut heard = take(&mut from, 5 * SECOND);
    let mut begun = Vec::new();
    for (nth, shelf) in [other.named(), one.named()].into_iter().enumerate() {
        bed.switch(shelf);
        until("the next shelf", || {
            begun.extend(bed.news());
            // Slower than it is made: what comes next is got ready meanwhile.
            heard.extend(take(&mut from, 1));
            begun.len() == nth + 2
        });
        heard.extend(take(&mut from, 8 * SECOND));
    }
    let begun = begun.into_iter().map(|it| match it {
        BedNews::Begun(music) => music,
        BedNews::Notice(notice) => panic!("{notice}"),
    });
    let begun: Vec<_> = begun.collect();
    let folders: Vec<_> = begun.iter().map(|it| it.folder.as_path()).collect();
    assert_eq!(folders, [one.path(), other.path(), one.path()]);
    assert!(begun[0].block == 0 && begun[0].files == begun[2].files);
    assert!(begun[0].files != begun[1].files);
    let shelves = begun.iter().map(|it| (it.block, it.into())).collect();
    let mut again = Sequence::open(shelves, None).unwrap();
    let again: Vec<_> = heard.iter().map(|_| again.pull()).collect();
    assert!(frames(&again) == frames(&heard));
}

#[test]
fn it_ends_when_it_is_let_go_of_or_nobody_takes_what_it_makes() {
    let folder = Folder::new();
    folder.sine("a.wav", 500, 0.1, 5.0);
    let (bed, mut from) = started(&folder);
    until("the ring fills", || from.slots() == 3 * SECOND);
    drop(bed);
    // Its end of the ring goes with it; what lies ready can still be heard.
    until("the thread ends", || from.is_abandoned());
    assert_eq!(take(&mut from, 3 * SECOND).len(), 3 * SECOND);
    let (bed, from) = started(&folder);
    drop(from);
    until("the thread ends", || {
        bed.switch(folder.named());
        bed.news();
        bed.has_ended()
    });
}

#[test]
fn without_music_the_ring_holds_silence_and_one_word_is_said() {
    let folder = Folder::new();
    let (bed, mut from) = started(&folder);
    let blocks = take(&mut from, 5 * SECOND);
    assert!(frames(&blocks).iter().all(|frame| *frame == [0.0; 2]));
    let mut told = Vec::new();
    until("a word", || {
        told.extend(notices(&bed));
        !told.is_empty()
    });
    assert!(told.len() == 1 && told[0].contains("no music"), "{told:?}");
}
