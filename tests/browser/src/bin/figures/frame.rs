//! From a slider's `input` to the frame that shows what follows from it.

use browser::{Browser, Driver, Outcome};
use serde_json::{Value, json};

use crate::{program::Program, say, spread::told};

/// Steps of a sweep; the first ones warm up program and browser.
const STEPS: usize = 400;
const WARM: usize = 40;

/// Moves a slider to and fro. A step begins with a frame, as a browser hands a hand's movement on; it ends in the first task after
/// the frame in which the parts of the page are new: a frame runs callbacks, lays out and paints in one task. Each step is told as:
/// answer there, parts placed, frame painted once it has begun, wait for the display's beat before that, all in ms; frames until then.
const SWEEP: &str = "
    const [steps, done] = arguments;
    const slide = document.querySelector('[data-of=adjust-saddle_height]');
    const main = document.getElementById('main');
    const [least, most] = [Number(slide.min), Number(slide.max)];
    const WORDS = { subtree: true, childList: true, characterData: true };
    // When the latest answer came in on the line.
    let came = NaN;
    const line = Object.getOwnPropertyDescriptor(MessageEvent.prototype, 'data');
    Object.defineProperty(MessageEvent.prototype, 'data', { ...line, get() { came = performance.now(); return line.get.call(this); } });
    let frames = 0;
    const count = () => { frames++; requestAnimationFrame(count); };
    count();
    const frame = () => new Promise(requestAnimationFrame);
    const task = () => new Promise(done => {
        const channel = new MessageChannel();
        channel.port1.onmessage = done;
        channel.port2.postMessage(null);
    });
    const changed = () => new Promise(done => {
        new MutationObserver((_, watch) => { watch.disconnect(); done(performance.now()); }).observe(main, WORDS);
    });
    const rest = async () => { while (main.getAttribute('aria-busy') === 'true') await task(); };
    (async () => {
        const times = [];
        for (let step = 0; step < steps; step++) {
            await rest();
            await frame();
            const placed = changed();
            const [begun, first] = [performance.now(), frames];
            slide.value = least + (step * 7) % (most - least);
            slide.dispatchEvent(new Event('input', { bubbles: true }));
            const at = await placed;
            await frame();
            const [shows, passed] = [performance.now(), frames - first];
            await task();
            const end = performance.now();
            times.push([came - begun, at - came, end - shows, shows - at, at - begun + end - shows, passed]);
        }
        done(times);
    })();";

pub(crate) async fn measure(program: &Program) -> Outcome<()> {
    let driver = Driver::start()?;
    let browser = driver.browser(&program.base, &[]).await?;
    let swept = sweep(&browser).await;
    browser.close().await?;
    let (times, work) = swept?;
    say(&format!("slider to painted frame, without the wait for the display's beat: {}", told(column(&times, 4)?)));
    for (at, part) in [
        "until the answer is there",
        "until its parts are in the page",
        "until their frame is laid out and painted",
        "waited for the display's beat",
    ]
    .iter()
    .enumerate()
    {
        say(&format!("  {part}: {}", told(column(&times, at)?)));
    }
    let frames = column(&times, 5)?;
    let next = frames.iter().filter(|passed| **passed <= 1.0).count();
    say(&format!("  in the very next frame: {:.1} % of the steps", 100.0 * next as f64 / frames.len() as f64));
    say(&format!("  {work}"));
    Ok(())
}

/// Times of each step, and what the browser says of its own work in the mean step.
async fn sweep(browser: &Browser) -> Outcome<(Vec<Value>, String)> {
    browser.open("/bench?bike=heron&set.fork=tarn-140").await?;
    browser.script_later(SWEEP, vec![json!(WARM)]).await?;
    browser.devtools("Performance.enable", json!({})).await?;
    let before = browser.devtools("Performance.getMetrics", json!({})).await?;
    let times = browser.script_later(SWEEP, vec![json!(STEPS)]).await?;
    let after = browser.devtools("Performance.getMetrics", json!({})).await?;
    let metric = |metrics: &Value, name: &str| {
        let found = metrics["metrics"].as_array().into_iter().flatten().find(|metric| metric["name"] == name);
        found.and_then(|metric| metric["value"].as_f64()).unwrap_or(f64::NAN)
    };
    let work = [
        ("ScriptDuration", "script"),
        ("RecalcStyleDuration", "style"),
        ("LayoutDuration", "layout"),
        ("TaskDuration", "all tasks"),
    ]
    .map(|(name, word)| format!("{word} {:.2} ms", 1e3 * (metric(&after, name) - metric(&before, name)) / STEPS as f64));
    Ok((
        times.as_array().ok_or("the page tells no times")?.clone(),
        format!("the browser's own work in the mean step: {}", work.join(", ")),
    ))
}

fn column(times: &[Value], at: usize) -> Outcome<Vec<f64>> {
    times.iter().map(|step| step[at].as_f64().ok_or_else(|| "a step without a time".into())).collect()
}
