//! A small browser: it keeps cookies, follows nothing, and fills in forms.

use std::collections::BTreeMap;
use std::time::Duration;

use ureq::Agent;
use ureq::http::Response;

pub(crate) struct Client {
    agent: Agent,
    base: String,
    pub(crate) cookies: BTreeMap<String, String>,
    pub(crate) headers: Vec<(String, String)>,
    /// Who signed in last.
    pub(crate) signed_in: String,
}

#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) headers: BTreeMap<String, String>,
    pub(crate) cookies: Vec<String>,
    pub(crate) body: String,
    pub(crate) bytes: Vec<u8>,
}

impl Answer {
    /// Where it leads, if it does.
    pub(crate) fn to(&self) -> &str {
        self.headers.get("location").map_or("", String::as_str)
    }

    /// The value of the first field of a name.
    pub(crate) fn value(&self, name: &str) -> String {
        let from = format!("name=\"{name}\" value=\"");
        let at = self.body.find(&from).unwrap_or_else(|| {
            panic!("there is no field {name}:\n{}", self.body);
        });
        let rest = &self.body[at + from.len()..];
        rest[..rest.find('"').unwrap()].to_owned()
    }
}

impl Client {
    pub(crate) fn new(base: &str) -> Self {
        let config = Agent::config_builder()
            .http_status_as_error(false)
            .max_redirects(0)
            .timeout_global(Some(Duration::from_mins(1)))
            .build();
        let (cookies, headers) = (BTreeMap::new(), Vec::new());
        let (agent, base) = (config.into(), base.to_owned());
        Self { agent, base, cookies, headers, signed_in: String::new() }
    }

    fn cookie(&self) -> String {
        let pairs = self.cookies.iter().map(|(name, value)| format!("{name}={value}"));
        pairs.collect::<Vec<_>>().join("; ")
    }

    pub(crate) fn get(&mut self, path: &str) -> Answer {
        let mut request = self.agent.get(format!("{}{path}", self.base));
        request = request.header("cookie", self.cookie());
        for (name, value) in &self.headers {
            request = request.header(name, value);
        }
        let response = request.call().unwrap();
        self.answer(response)
    }

    pub(crate) fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut request = self.agent.post(format!("{}{path}", self.base));
        request = request.header("cookie", self.cookie());
        for (name, value) in &self.headers {
            request = request.header(name, value);
        }
        let response = request.send_form(fields.iter().copied()).unwrap();
        self.answer(response)
    }

    /// Sends JSON.
    pub(crate) fn send_json(&mut self, path: &str, json: &str) -> Answer {
        let mut request = self.agent.post(format!("{}{path}", self.base));
        request = request.header("content-type", "application/json");
        for (name, value) in &self.headers {
            request = request.header(name, value);
        }
        let response = request.send(json).unwrap();
        self.answer(response)
    }

    /// Sends bytes as they are.
    pub(crate) fn send_bytes(mut self, path: &str, kind: &str, body: &[u8]) -> Answer {
        let mut request = self.agent.post(format!("{}{path}", self.base));
        request = request.header("content-type", kind);
        for (name, value) in &self.headers {
            request = request.header(name, value);
        }
        let response = request.send(body).unwrap();
        self.answer(response)
    }

    /// Sends a form in parts, with files: the field, what the file is called, its content.
    pub(crate) fn post_files(
        &mut self,
        path: &str,
        fields: &[(&str, &str)],
        files: &[(&str, &str, &[u8])],
    ) -> Answer {
        let (kind, body) = in_parts(fields, files);
        let mut request = self.agent.post(format!("{}{path}", self.base));
        request = request.header("cookie", self.cookie()).header("content-type", kind);
        for (name, value) in &self.headers {
            request = request.header(name, value);
        }
        let response = request.send(&body[..]).unwrap();
        self.answer(response)
    }

    /// The bytes at a path.
    pub(crate) fn bytes(
        &mut self,
        path: &str,
    ) -> (u16, BTreeMap<String, String>, Vec<u8>) {
        let request = self.agent.get(format!("{}{path}", self.base));
        let mut response = request.header("cookie", self.cookie()).call().unwrap();
        let headers = response.headers().iter().map(|(name, value)| {
            (name.to_string(), String::from_utf8_lossy(value.as_bytes()).into_owned())
        });
        let (status, headers) = (response.status().as_u16(), headers.collect());
        (status, headers, response.body_mut().read_to_vec().unwrap())
    }

    /// Sends a form with one file in it.
    pub(crate) fn give(
        &mut self,
        path: &str,
        fields: &[(&str, &str)],
        (name, content): (&str, &[u8]),
    ) -> Answer {
        self.post_files(path, fields, &[("file", name, content)])
    }

    /// The bytes of an answer that is there.
    pub(crate) fn content(&mut self, path: &str) -> Vec<u8> {
        let (status, _, bytes) = self.bytes(path);
        assert_eq!(status, 200, "{path}");
        bytes
    }

    fn answer(&mut self, mut response: Response<ureq::Body>) -> Answer {
        let set = response.headers().get_all("set-cookie").iter();
        let cookies: Vec<String> =
            set.map(|value| value.to_str().unwrap().to_owned()).collect();
        for cookie in &cookies {
            let pair = cookie.split(';').next().unwrap();
            let (name, value) = pair.split_once('=').unwrap();
            if value.is_empty() {
                self.cookies.remove(name);
            } else {
                self.cookies.insert(name.to_owned(), value.to_owned());
            }
        }
        let headers = response.headers().iter().map(|(name, value)| {
            (name.to_string(), String::from_utf8_lossy(value.as_bytes()).into_owned())
        });
        let (status, headers) = (response.status().as_u16(), headers.collect());
        let bytes = response.body_mut().read_to_vec().unwrap();
        let body = String::from_utf8_lossy(&bytes).into_owned();
        Answer { status, headers, cookies, body, bytes }
    }

    pub(crate) fn sign_in(&mut self, name: &str, secret: &str) -> Answer {
        name.clone_into(&mut self.signed_in);
        let form = self.get("/sign-in");
        let before = form.value("_before");
        let fields = [("_before", before.as_str()), ("name", name), ("secret", secret)];
        self.post("/sign-in", &fields)
    }

    /// Opens the form of an act and sends it with these fields; the secret too.
    pub(crate) fn sign(
        &mut self,
        word: &str,
        fields: &[(&str, &str)],
        secret: &str,
    ) -> Answer {
        let form = self.get(&format!("/act/{word}"));
        self.send(&form, word, fields, secret)
    }

    /// What a form that was opened carries unseen, with these fields and the secret.
    pub(crate) fn filled<'a>(
        form: &Answer,
        fields: &[(&'a str, &'a str)],
        secret: &'a str,
    ) -> Vec<(&'a str, String)> {
        let hidden = ["_csrf", "_request", "_seen"].map(|name| (name, form.value(name)));
        let fields = fields.iter().map(|(name, value)| (*name, (*value).to_owned()));
        let mut all: Vec<(&str, String)> = hidden.into_iter().chain(fields).collect();
        all.push(("_secret", secret.to_owned()));
        all
    }

    /// Sends a form that was opened before.
    pub(crate) fn send(
        &mut self,
        form: &Answer,
        word: &str,
        fields: &[(&str, &str)],
        secret: &str,
    ) -> Answer {
        let hidden = ["_csrf", "_request", "_seen"].map(|name| (name, form.value(name)));
        let mut all: Vec<(&str, &str)> =
            hidden.iter().map(|(name, value)| (*name, value.as_str())).collect();
        all.extend(fields);
        all.push(("_secret", secret));
        self.post(&format!("/act/{word}"), &all)
    }
}

/// A form in parts as browsers write it (RFC 7578), and its type.
fn in_parts(fields: &[(&str, &str)], files: &[(&str, &str, &[u8])]) -> (String, Vec<u8>) {
    const BOUNDARY: &str = "----part-of-a-form-4c1d";
    let mut body = Vec::new();
    let disposition = "Content-Disposition: form-data";
    for (name, value) in fields {
        let head = format!("--{BOUNDARY}\r\n{disposition}; name=\"{name}\"\r\n\r\n");
        body.extend_from_slice(format!("{head}{value}\r\n").as_bytes());
    }
    for (name, file, content) in files {
        let head = format!(
            "--{BOUNDARY}\r\n{disposition}; name=\"{name}\"; filename=\"{file}\"\r\n\
             Content-Type: application/octet-stream\r\n\r\n"
        );
        body.extend_from_slice(head.as_bytes());
        body.extend_from_slice(content);
        body.extend_from_slice(b"\r\n");
    }
    body.extend_from_slice(format!("--{BOUNDARY}--\r\n").as_bytes());
    (format!("multipart/form-data; boundary={BOUNDARY}"), body)
}
