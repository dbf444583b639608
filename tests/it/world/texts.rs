//! `watch` with the texts of movements in another language.

use super::SESSION;
use super::World;
use super::watch::Watching;
use super::watch::moved_into_place;
use std::fs;

#[test]
fn texts_in_another_language_recheck_the_sessions_in_it_that_use_them() {
    let world = World::new();
    let german = SESSION.replace("title", "language = \"de\"\ntitle");
    world.write(
        "boathouse/sessions/kurz.toml",
        &german.replace("Short outing", "Kurz"),
    );
    let mut watching = Watching::start(&world, &[]);
    if !watching.seen.iter().any(|line| line.starts_with("kurz:")) {
        watching.until("kurz: Kurz is waiting");
    }
    // The folder comes to be while it is watched.
    fs::create_dir(world.at("boathouse/movements/de")).unwrap();
    world.write("boathouse/movements/de/march.toml", "name = 3\n");
    let line = watching.until("fault");
    let told = "kurz: Kurz has a fault in its movement march in German, line 1: ";
    assert!(line.starts_with(told), "{line}");
    moved_into_place(
        &world,
        "boathouse/movements/de/march.toml",
        "name = \"Marsch\"\n",
    );
    watching.until("kurz: Kurz is waiting");
    world.write("boathouse/movements/de/march.toml", "nam = \"Marsch\"\n");
    watching.until("kurz: Kurz has a fault");
    // Without them the movement is as it was.
    fs::remove_file(world.at("boathouse/movements/de/march.toml")).unwrap();
    watching.until("kurz: Kurz is waiting");
    assert_eq!(watching.end("TERM").code(), Some(0));
    let short = watching
        .seen
        .iter()
        .filter(|line| line.starts_with("short:"));
    assert_eq!(short.count(), 1, "{:#?}", watching.seen);
}
