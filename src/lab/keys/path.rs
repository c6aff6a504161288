//! Key paths: `guest.web.memory`, `host."shelf a".disk.pool.devices`.

/// Makes a path one step longer; the step is quoted where a bare key could not hold it.
pub fn push_step(path: &mut String, step: &str) {
    let bare = |byte: u8| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'_';
    if !path.is_empty() {
        path.push('.');
    }
    if !step.is_empty() && step.bytes().all(bare) {
        path.push_str(step);
        return;
    }
    path.push('"');
    for letter in step.chars() {
        if matches!(letter, '"' | '\\') {
            path.push('\\');
        }
        path.push(letter);
    }
    path.push('"');
}

/// The path of these steps, as [`crate::lab::Lab::origins`] holds it.
///
/// # Example
/// ```
/// use berthage::lab::key_path;
/// assert_eq!(key_path(&["guest", "web.1", "memory"]), "guest.\"web.1\".memory");
/// ```
pub fn key_path(steps: &[&str]) -> String {
    let mut path = String::new();
    for step in steps {
        push_step(&mut path, step);
    }
    path
}

/// The steps of a path that [`key_path`] made, quotes taken off.
///
/// # Example
/// ```
/// use berthage::lab::key_steps;
/// assert_eq!(key_steps("guest.\"web.1\".memory"), ["guest", "web.1", "memory"]);
/// ```
pub fn key_steps(path: &str) -> Vec<String> {
    let mut steps = vec![String::new()];
    let (mut quoted, mut escaped) = (false, false);
    for letter in path.chars() {
        let step = steps.len() - 1;
        match letter {
            _ if escaped => {
                steps[step].push(letter);
                escaped = false;
            }
            '\\' if quoted => escaped = true,
            '"' => quoted = !quoted,
            '.' if !quoted => steps.push(String::new()),
            _ => steps[step].push(letter),
        }
    }
    steps
}
