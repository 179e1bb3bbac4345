//! HTTP over a plain socket, so that a test can also send what no browser would.

use flate2::write::GzDecoder;
use serde_json::Value;
use std::io::{BufRead, BufReader, Error, ErrorKind, Result, Write};
use std::net::TcpStream;
use std::time::Duration;

/// What came back.
#[derive(Debug)]
pub struct Reply {
    pub status: u16,
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Reply {
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|error| panic!("{error}: {}", self.text()))
    }
}

pub fn connect(port: u16) -> Result<TcpStream> {
    let stream = TcpStream::connect(("127.0.0.1", port))?;
    stream.set_read_timeout(Some(Duration::from_secs(30)))?;
    stream.set_write_timeout(Some(Duration::from_secs(30)))?;
    stream.set_nodelay(true)?;
    Ok(stream)
}

/// The head of a request and its body as bytes.
pub fn written(method: &str, path: &str, headers: &[(&str, &str)], body: Option<&Value>) -> Vec<u8> {
    let body = body.map(ToString::to_string);
    let mut text = format!("{method} {path} HTTP/1.1\r\n");
    if !headers.iter().any(|(name, _)| name.eq_ignore_ascii_case("host")) {
        text += "host: desk\r\n";
    }
    for (name, value) in headers {
        text += &format!("{name}: {value}\r\n");
    }
    if let Some(body) = &body {
        text += &format!("content-type: application/json\r\ncontent-length: {}\r\n", body.len());
    }
    text += "connection: close\r\n\r\n";
    text += body.as_deref().unwrap_or_default();
    text.into_bytes()
}

pub fn request(
    port: u16,
    method: &str,
    path: &str,
    headers: &[(&str, &str)],
    body: Option<&Value>,
) -> Result<Reply> {
    raw(port, &written(method, path, headers, body))
}

/// Sends bytes as they are and reads one answer.
pub fn raw(port: u16, bytes: &[u8]) -> Result<Reply> {
    let mut stream = connect(port)?;
    stream.write_all(bytes)?;
    read_reply(&mut BufReader::new(stream))
}

/// Reads the head of an answer.
pub fn read_head(reader: &mut impl BufRead) -> Result<(u16, Vec<(String, String)>)> {
    let odd = || Error::from(ErrorKind::UnexpectedEof);
    let mut line = String::new();
    reader.read_line(&mut line)?;
    let status = line.split(' ').nth(1).and_then(|code| code.parse().ok()).ok_or_else(odd)?;
    let mut headers = Vec::new();
    loop {
        let mut line = String::new();
        if reader.read_line(&mut line)? == 0 {
            return Err(odd());
        }
        match line.trim_end().split_once(':') {
            Some((name, value)) => headers.push((name.to_lowercase(), value.trim().to_string())),
            None => return Ok((status, headers)),
        }
    }
}

pub fn read_reply(reader: &mut impl BufRead) -> Result<Reply> {
    let (status, headers) = read_head(reader)?;
    let mut reply = Reply { status, headers, body: Vec::new() };
    if reply.header("transfer-encoding") == Some("chunked") {
        while let Some(chunk) = read_chunk(reader)? {
            reply.body.extend(chunk);
        }
    } else if let Some(length) = reply.header("content-length").and_then(|text| text.parse().ok()) {
        reply.body = vec![0; length];
        reader.read_exact(&mut reply.body)?;
    } else {
        reader.read_to_end(&mut reply.body)?;
    }
    Ok(reply)
}

/// The next piece of a chunked body; none at its end.
pub fn read_chunk(reader: &mut impl BufRead) -> Result<Option<Vec<u8>>> {
    let mut line = String::new();
    if reader.read_line(&mut line)? == 0 {
        return Err(ErrorKind::UnexpectedEof.into());
    }
    let length = usize::from_str_radix(line.trim(), 16).map_err(|_| Error::from(ErrorKind::InvalidData))?;
    let mut chunk = vec![0; length + 2];
    reader.read_exact(&mut chunk)?;
    chunk.truncate(length);
    Ok((length > 0).then_some(chunk))
}

/// Live updates of one phone, as a page takes them: what changed is laid over what came before.
pub struct Live {
    reader: BufReader<TcpStream>,
    text: Vec<u8>,
    pack: Option<GzDecoder<Vec<u8>>>,
    /// The screen so far.
    screen: Value,
    /// Bytes that came over the wire.
    pub bytes: usize,
}

/// One message of a stream; a change comes as the whole screen.
#[derive(Debug)]
pub struct Message {
    pub id: Option<u64>,
    pub event: String,
    pub data: Value,
}

impl Live {
    pub fn open(port: u16, headers: &[(&str, &str)]) -> Result<Live> {
        Live::open_since(port, headers, 0)
    }

    /// As a phone that holds a picture of an entry.
    pub fn open_since(port: u16, headers: &[(&str, &str)], seq: u64) -> Result<Live> {
        let mut stream = connect(port)?;
        stream.write_all(&written("GET", &format!("/api/live?since={seq}"), headers, None))?;
        let mut reader = BufReader::new(stream);
        let (status, answered) = read_head(&mut reader)?;
        if status != 200 {
            return Err(Error::other(format!("status {status}")));
        }
        let is_packed = answered.iter().any(|(name, value)| name == "content-encoding" && value == "gzip");
        let pack = is_packed.then(|| GzDecoder::new(Vec::new()));
        Ok(Live { reader, text: Vec::new(), pack, screen: Value::Null, bytes: 0 })
    }

    /// As a browser does it: packed.
    pub fn open_packed(port: u16, headers: &[(&str, &str)]) -> Result<Live> {
        Live::open(port, &[headers, &[("accept-encoding", "gzip, deflate")]].concat())
    }

    /// The next message, whenever it comes.
    pub fn next(&mut self) -> Result<Message> {
        loop {
            if let Some(end) = self.text.windows(2).position(|two| two == b"\n\n") {
                let message: Vec<u8> = self.text.drain(..end + 2).collect();
                return Ok(self.take(read_message(&String::from_utf8_lossy(&message))));
            }
            let chunk = read_chunk(&mut self.reader)?.ok_or(Error::from(ErrorKind::UnexpectedEof))?;
            self.bytes += chunk.len();
            match &mut self.pack {
                None => self.text.extend(chunk),
                Some(pack) => {
                    pack.write_all(&chunk)?;
                    pack.flush()?;
                    self.text.append(pack.get_mut());
                }
            }
        }
    }

    fn take(&mut self, message: Message) -> Message {
        match message.event.as_str() {
            "screen" => self.screen = message.data.clone(),
            "change" => {
                for (name, value) in message.data.as_object().expect("a change is an object") {
                    match value.as_object().filter(|_| name == "map") {
                        Some(map) => map.iter().for_each(|(k, v)| self.screen["map"][k] = v.clone()),
                        None => self.screen[name] = value.clone(),
                    }
                }
                return Message { event: "screen".into(), data: self.screen.clone(), ..message };
            }
            _ => {}
        }
        message
    }

    /// The next message of one kind.
    pub fn next_of(&mut self, event: &str) -> Result<Message> {
        loop {
            let message = self.next()?;
            if message.event == event {
                return Ok(message);
            }
        }
    }
}

fn read_message(text: &str) -> Message {
    let field = |name: &str| text.lines().find_map(|line| line.strip_prefix(name)).map(str::trim);
    Message {
        id: field("id:").and_then(|text| text.parse().ok()),
        event: field("event:").unwrap_or("message").to_string(),
        data: field("data:").and_then(|text| serde_json::from_str(text).ok()).unwrap_or(Value::Null),
    }
}
