//! Taking connections: with or without TLS, never more than the laptop can bear, and never for ever.
//!
//! A device that sends its request drop by drop, or does not read what it asked for, loses its connection;
//! the desk and everybody else go on.

use axum::Router;
use axum::extract::ConnectInfo;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::collections::BTreeMap;
use std::future::Future;
use std::net::{IpAddr, SocketAddr};
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::{Instant, Sleep, sleep, timeout};
use tokio_rustls::TlsAcceptor;

/// Most connections in all.
const CONNECTIONS_MOST: usize = 1024;
/// Most connections from one address; a router between puts a whole crew behind one.
const FROM_ONE_MOST: usize = 256;
/// Time for the greeting of TLS, and for the head of a request, also of the next one on a kept connection.
const HEAD_WITHIN: Duration = Duration::from_secs(15);
/// Time in which a device must take in something of what it asked for.
const TAKEN_WITHIN: Duration = Duration::from_secs(20);
/// Largest head of a request, and most of an answer that waits unsent \[bytes\].
const BUFFER: usize = 64 * 1024;

/// Connections now, by address.
#[derive(Default)]
struct Open(Mutex<BTreeMap<IpAddr, usize>>);

/// One connection that is counted as long as it lives.
struct Counted(Arc<Open>, IpAddr);

impl Open {
    fn count(self: &Arc<Open>, from: IpAddr) -> Option<Counted> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if all.values().sum::<usize>() >= CONNECTIONS_MOST
            || all.get(&from).is_some_and(|&n| n >= FROM_ONE_MOST)
        {
            return None;
        }
        *all.entry(from).or_insert(0) += 1;
        Some(Counted(Arc::clone(self), from))
    }
}

impl Drop for Counted {
    fn drop(&mut self) {
        let mut all = self.0.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = all.get_mut(&self.1) {
            *count -= 1;
            if *count == 0 {
                all.remove(&self.1);
            }
        }
    }
}

/// Takes connections until the program ends.
pub async fn take(listener: TcpListener, tls: Option<TlsAcceptor>, router: Router) {
    let open = Arc::new(Open::default());
    loop {
        let Ok((stream, from)) = listener.accept().await else {
            // Out of file descriptors, most likely: others will close.
            sleep(Duration::from_millis(50)).await;
            continue;
        };
        let Some(counted) = open.count(from.ip().to_canonical()) else { continue };
        let (tls, router) = (tls.clone(), router.clone());
        tokio::spawn(async move {
            let _counted = counted;
            serve(stream, from, tls, router).await;
        });
    }
}

async fn serve(stream: TcpStream, from: SocketAddr, tls: Option<TlsAcceptor>, router: Router) {
    let _ = stream.set_nodelay(true);
    match tls {
        None => answer(stream, from, router).await,
        Some(tls) => {
            if let Ok(Ok(stream)) = timeout(HEAD_WITHIN, tls.accept(stream)).await {
                answer(stream, from, router).await;
            }
        }
    }
}

async fn answer<S: AsyncRead + AsyncWrite + Unpin + Send + 'static>(
    stream: S,
    from: SocketAddr,
    router: Router,
) {
    let router = router.layer(axum::Extension(ConnectInfo(from)));
    let mut http = hyper::server::conn::http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(HEAD_WITHIN).max_buf_size(BUFFER).max_headers(64);
    let stream = TokioIo::new(Patient { stream, waiting: None });
    // What goes wrong here went wrong at the other end.
    let _ = http.serve_connection(stream, TowerToHyperService::new(router)).await;
}

/// A stream that gives up when the other end takes nothing for a while.
struct Patient<S> {
    stream: S,
    waiting: Option<Pin<Box<Sleep>>>,
}

impl<S> Patient<S> {
    /// Passes on what came of a write; while nothing goes out the time runs.
    fn watched<T>(
        &mut self,
        context: &mut Context<'_>,
        came: Poll<std::io::Result<T>>,
    ) -> Poll<std::io::Result<T>> {
        if came.is_ready() {
            self.waiting = None;
            return came;
        }
        let until = Instant::now() + TAKEN_WITHIN;
        let waiting = self.waiting.get_or_insert_with(|| Box::pin(tokio::time::sleep_until(until)));
        match waiting.as_mut().poll(context) {
            Poll::Ready(()) => Poll::Ready(Err(std::io::ErrorKind::TimedOut.into())),
            Poll::Pending => Poll::Pending,
        }
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Patient<S> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<std::io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(context, buffer)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Patient<S> {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<std::io::Result<usize>> {
        let came = Pin::new(&mut self.stream).poll_write(context, bytes);
        self.watched(context, came)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<std::io::Result<()>> {
        let came = Pin::new(&mut self.stream).poll_flush(context);
        self.watched(context, came)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<std::io::Result<()>> {
        let came = Pin::new(&mut self.stream).poll_shutdown(context);
        self.watched(context, came)
    }
}
