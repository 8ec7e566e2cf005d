//! The page: what is in it, and what a browser makes of it.

use duskloom::budget::budget;
use duskloom::design::Design;
use duskloom::light::Tint;
use duskloom::light::cie;
use duskloom::page::{most_flashes, page, record, summed, unpack};
use duskloom::picture::tint;
use duskloom::player::{Generator, Player};
use duskloom::preview;
use duskloom::spec::PatternId;
use duskloom::units::Level;
use serde_json::{Value, json};
use tempfile::TempDir;

use crate::see::browser::Browser;
use crate::see::support::{demo, design};

/// A light that flashes five times in a second, and one that does not flash.
const SIREN: &str = "\
name: siren
chip: attiny2313a
channels: [red, blue]
patterns:
  alarm: [{rhythm: [100 ms, 100 ms]}]
  breath: [{to: 60 %, over: 2 s}, {to: 20 %, over: 2 s}]
  tremble: [{rhythm: [250 ms, 250 ms]}]
";

fn written(design: &Design) -> String {
    let verdict = budget(design);
    page(design, &verdict, &verdict.objections())
}

fn data(page: &str) -> Value {
    let (_, after) = page
        .split_once("<script type=\"application/json\" id=\"data\">")
        .expect("data");
    let (data, _) = after.split_once("</script>").expect("its end");
    serde_json::from_str(data).expect("JSON")
}

/// The page in a folder of its own.
fn saved(page: &str) -> (TempDir, std::path::PathBuf) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("light.html");
    std::fs::write(&path, page).expect("a file");
    (folder, path)
}

#[test]
fn every_frame_in_the_page_is_the_model_s() {
    for name in ["harbour.yaml", "theatre.yaml", "lantern.yaml"] {
        let design = demo(name);
        let data = data(&written(&design));
        let patterns = data["patterns"].as_array().expect("patterns");
        for (id, pattern) in design.project.pattern_ids().zip(patterns) {
            let scene = preview::scene(&design, id).expect("it is played");
            let first = Generator::new(Generator::FIRST);
            let mut player = Player::new(&design.deck, first);
            player.generator = first;
            player.start(scene);
            let channels: Vec<Vec<Level>> = pattern["frames"]
                .as_array()
                .expect("frames")
                .iter()
                .map(|text| unpack(text.as_str().expect("text")).expect("packed"))
                .collect();
            for tick in 0..pattern["ticks"].as_u64().expect("a number") as usize {
                let shown: Vec<Level> = channels.iter().map(|levels| levels[tick]).collect();
                assert_eq!(shown, player.levels().collect::<Vec<_>>(), "{name} {tick}");
                player.step();
            }
        }
    }
}

/// One LED is one lamp; where nothing is said of the LEDs, some are drawn.
#[test]
fn a_string_has_as_many_lamps_as_leds() {
    let lamps = |design: &Design| -> Vec<u64> {
        let data = data(&written(design));
        let channels = data["channels"].as_array().expect("channels").iter();
        channels
            .map(|channel| channel["lamps"].as_u64().expect("a number"))
            .collect()
    };
    assert_eq!(lamps(&demo("harbour.yaml")), [4, 2, 3, 1]);
    assert!(lamps(&design(SIREN)).iter().all(|&lamps| lamps > 1));
}

/// On paper every small timeline is filled, on a light ground, whether or not it was in sight.
#[test_with::executable("chromium")]
#[test]
fn paper_shows_all_patterns_on_white() {
    let (_folder, path) = saved(&written(&demo("harbour.yaml")));
    let mut browser = Browser::start();
    browser.open(&path);
    let filled = "[...document.querySelectorAll('#all canvas')].filter(one => one.getContext('2d')\
         .getImageData(0, 0, one.width, one.height).data.some(byte => byte)).length";
    let all = browser.value("document.querySelectorAll('#all canvas').length");
    browser.value("window.dispatchEvent(new Event('beforeprint'))");
    assert_eq!(browser.value(filled), all);
    assert_eq!(browser.value("inks.sky"), json!("#ffffff"));
    browser.value("window.dispatchEvent(new Event('afterprint'))");
    assert_eq!(browser.value("inks.sky"), json!("#0c0913"));
    assert_eq!(browser.complaints, [""; 0]);
}

#[test]
fn what_comes_round_goes_on_where_it_does_in_the_model() {
    let design = demo("harbour.yaml");
    for pattern in design.project.pattern_ids() {
        let scene = preview::scene(&design, pattern).expect("it is played");
        let frames = record(&design, pattern, scene);
        if frames.random || frames.facts.contains("its first") {
            continue;
        }
        let mut player = Player::new(&design.deck, Generator::new(1));
        player.start(scene);
        for _ in 0..frames.ticks() {
            player.step();
        }
        for tick in frames.again..frames.ticks() {
            let shown: Vec<Level> = frames.channels.iter().map(|levels| levels[tick]).collect();
            assert_eq!(
                shown,
                player.levels().collect::<Vec<_>>(),
                "{pattern:?} {tick}"
            );
            player.step();
        }
    }
}

#[test]
fn pages_are_small_and_the_same_each_time() {
    for name in ["harbour.yaml", "theatre.yaml", "lantern.yaml"] {
        let design = demo(name);
        let page = written(&design);
        assert!(page.len() < 300_000, "{name}: {}", page.len());
        assert_eq!(page, written(&design));
        assert!(
            !page.contains("http:") && !page.contains("https:"),
            "{name}"
        );
    }
}

#[test]
fn flashes_are_counted_for_each_speed() {
    let design = design(SIREN);
    let data = data(&written(&design));
    let flashes: Vec<&Value> = data["patterns"]
        .as_array()
        .expect("patterns")
        .iter()
        .map(|p| &p["flashes"])
        .collect();
    assert_eq!(flashes[0][0], json!(5));
    assert_eq!(flashes[1], &json!([1, 1, 1]));
    assert_eq!(flashes[2], &json!([2, 4, 8]));
    let frames = record(&design, PatternId(0), 0);
    assert_eq!(
        most_flashes(
            &summed(&frames.lights(&design)),
            data["tick"].as_f64().expect("a number")
        ),
        5
    );
}

/// What the page shows of each string: level, L*, light in %, colour of the lamp.
fn shown(browser: &mut Browser) -> Vec<(u8, String, String, String)> {
    let rows = browser.value(
        "[...document.querySelectorAll('#now tbody tr')].map(row => [\
         +row.querySelector('.level').textContent, row.querySelector('.lightness').textContent,\
         row.querySelector('.share').textContent,\
         getComputedStyle(row.querySelector('.lamp')).backgroundColor])",
    );
    serde_json::from_value(rows).expect("rows")
}

/// What the model has at a tick, the colour by the crate `palette`.
fn due(design: &Design, scene: usize, tick: usize) -> Vec<(u8, String, String, String)> {
    use palette::{LinSrgb, Srgb};
    let first = Generator::new(Generator::FIRST);
    let mut player = Player::new(&design.deck, first);
    player.generator = first;
    player.start(scene);
    (0..tick).for_each(|_| player.step());
    let row = |(channel, level): (usize, Level)| {
        let light = design.deck.duty(channel, level).luminance();
        let Tint([red, green, blue]) = tint(design, channel);
        let full: LinSrgb<f64> = Srgb::new(red, green, blue).into_linear();
        let lamp: Srgb<u8> = Srgb::<f64>::from_linear(full * light.0).into_format();
        (
            level.0,
            format!("{:.2}", cie::lightness(light).0),
            format!("{:.3} %", light.0 * 100.0),
            format!("rgb({}, {}, {})", lamp.red, lamp.green, lamp.blue),
        )
    };
    player.levels().enumerate().map(row).collect()
}

fn scrub(browser: &mut Browser, tick: usize) {
    browser.value(&format!(
        "{{const scrub = document.getElementById('scrub'); scrub.value = {tick}; \
         scrub.dispatchEvent(new Event('input')); true}}"
    ));
}

#[test_with::executable("chromium")]
#[test]
fn a_browser_plays_what_the_model_plays() {
    let mut browser = Browser::start();
    for name in ["harbour.yaml", "theatre.yaml"] {
        let design = demo(name);
        let (_folder, path) = saved(&written(&design));
        browser.open(&path);
        let tick = design.grid.tick_seconds();
        for pattern in 0..2 {
            browser.value(&format!(
                "document.querySelectorAll('#patterns input')[{pattern}].click()"
            ));
            let scene = preview::scene(&design, PatternId(pattern)).expect("it is played");
            for seconds in [0.4, 3.7, 6.2] {
                let at = (seconds / tick) as usize;
                scrub(&mut browser, at);
                assert_eq!(
                    shown(&mut browser),
                    due(&design, scene, at),
                    "{name} {pattern} at {seconds}"
                );
                assert_eq!(
                    browser.text("document.getElementById('clock').textContent"),
                    format!("{:.3} s", at as f64 * tick)
                );
            }
        }
        // Playing goes on in real time, and shows what the model has at the time it says.
        scrub(&mut browser, 0);
        browser.value("document.getElementById('play').click()");
        browser.wait("parseFloat(document.getElementById('clock').textContent) > 0.4");
        browser.value("document.getElementById('play').click()");
        assert_eq!(
            browser.text("document.getElementById('play').textContent"),
            "Play"
        );
        let at: usize = browser
            .text("document.getElementById('scrub').value")
            .parse()
            .expect("a tick");
        let scene = preview::scene(&design, PatternId(1)).expect("it is played");
        assert_eq!(
            shown(&mut browser),
            due(&design, scene, at),
            "{name} after playing"
        );
    }
    assert_eq!(browser.complaints, [""; 0]);
}

#[test_with::executable("chromium")]
#[test]
fn a_browser_can_be_used_by_keyboard() {
    let mut browser = Browser::start();
    let design = demo("harbour.yaml");
    let (_folder, path) = saved(&written(&design));
    browser.open(&path);
    browser.press(".");
    browser.press(".");
    browser.press(",");
    assert_eq!(browser.text("document.getElementById('scrub').value"), "1");
    browser.press("n");
    assert_eq!(
        browser.text("document.querySelector('#patterns input:checked + span').textContent"),
        "evening"
    );
    browser.press(" ");
    browser.wait("+document.getElementById('scrub').value > 3");
    browser.press(" ");
    assert_eq!(
        browser.text("document.getElementById('play').textContent"),
        "Play"
    );
    // Zooming shows less of the pattern: the first second's hills change the picture.
    let before = browser.text("document.getElementById('timeline').toDataURL()");
    browser.press("+");
    assert_ne!(
        browser.text("document.getElementById('timeline').toDataURL()"),
        before
    );
    // Everything that can be operated or looked at has a name.
    let nameless = browser.value(
        "[...document.querySelectorAll('button, input, select, canvas, img, section, output')].filter(one => \
         !(one.textContent.trim() || one.getAttribute('aria-label') || one.getAttribute('aria-labelledby') \
         || one.alt || one.closest('label'))).map(one => one.outerHTML)",
    );
    assert_eq!(nameless, json!([]));
    assert_eq!(browser.complaints, [""; 0]);
}

#[test_with::executable("chromium")]
#[test]
fn flashing_patterns_wait_until_they_are_asked_for() {
    let mut browser = Browser::start();
    let (_folder, path) = saved(&written(&design(SIREN)));
    browser.open(&path);
    let dark = "[...document.querySelectorAll('.lamp')].every(lamp => getComputedStyle(lamp).backgroundColor === 'rgb(0, 0, 0)')";
    assert_eq!(
        browser.value("document.getElementById('ask').hidden"),
        json!(false)
    );
    browser.press(" ");
    browser.value("document.getElementById('play').click()");
    scrub(&mut browser, 3);
    assert_eq!(
        browser.text("document.getElementById('play').textContent"),
        "Play"
    );
    assert_eq!(browser.value(dark), json!(true));

    browser.value("document.getElementById('agree').click()");
    browser.wait("document.getElementById('play').textContent === 'Pause'");
    scrub(&mut browser, 3);
    assert_eq!(browser.value(dark), json!(false));

    // Two flashes a second are safe, and at twice the speed they are not.
    browser.value("document.querySelectorAll('#patterns input')[2].click()");
    assert_eq!(
        browser.value("document.getElementById('ask').hidden"),
        json!(true)
    );
    browser.value("{const speed = document.getElementById('speed'); speed.value = '2'; speed.dispatchEvent(new Event('change')); true}");
    assert_eq!(
        browser.value("document.getElementById('ask').hidden"),
        json!(false)
    );
    assert_eq!(browser.complaints, [""; 0]);
}
