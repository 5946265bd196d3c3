//! An object store (S3 and what speaks like it) as a place of exchange, for firms that outgrow one desk.

use anyhow::{Context, bail};
use hangtrue_core::sync::{Hash, ObjectName, Prune, Transport, TransportProblem};
use object_store::aws::AmazonS3Builder;
use object_store::path::Path as ObjectPath;
use object_store::{ClientOptions, ObjectStore, ObjectStoreExt, PutMode, PutPayload, RetryConfig};
use std::collections::HashMap;
use std::time::Duration;
use tokio::runtime::Runtime;

/// Variables by which a person asks that keys be fetched from elsewhere, or that none be used.
const ASKED_FOR: [&str; 5] = [
    "AWS_WEB_IDENTITY_TOKEN_FILE",
    "AWS_CONTAINER_CREDENTIALS_RELATIVE_URI",
    "AWS_CONTAINER_CREDENTIALS_FULL_URI",
    "AWS_METADATA_ENDPOINT",
    "AWS_SKIP_SIGNATURE",
];

/// What a person can do about what a server says; the server's own words where nothing better is known.
fn in_words(said: &str) -> String {
    let known = [
        ("NoSuchBucket", "there is no bucket of this name; make it first, or look at its spelling"),
        ("InvalidAccessKeyId", "it does not know AWS_ACCESS_KEY_ID; look at the key and at AWS_ENDPOINT"),
        ("SignatureDoesNotMatch", "AWS_SECRET_ACCESS_KEY is not the secret of this key, or AWS_REGION is another"),
        ("AccessDenied", "this key may not read and write there; its owner must allow it"),
        ("RequestTimeTooSkewed", "this computer's clock is wrong by more than it allows; set the clock"),
        ("error sending request", "it cannot be reached; look at the network and at AWS_ENDPOINT"),
    ];
    let found = known.iter().find(|(code, _)| said.contains(code));
    found.map_or_else(|| said.to_owned(), |(_, words)| (*words).to_owned())
}

/// A bucket, or a folder in one.
#[derive(Debug)]
pub struct Bucket {
    store: object_store::aws::AmazonS3,
    root: String,
    url: String,
    runtime: Runtime,
    /// What was fetched beforehand and not asked for yet.
    soon: HashMap<ObjectName, Vec<u8>>,
}

impl Bucket {
    /// A bucket by its address, `s3://BUCKET` or `s3://BUCKET/FOLDER`. Keys, region and endpoint come as the usual
    /// variables: AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY, AWS_REGION, AWS_ENDPOINT (AWS_ALLOW_HTTP=true for a server on
    /// the own computer).
    ///
    /// # Errors
    /// In sentences for a person.
    pub fn new(url: &str, variables: impl Iterator<Item = (String, String)>) -> anyhow::Result<Self> {
        let Some(rest) = url.strip_prefix("s3://") else {
            bail!("\"{url}\" is no bucket; it would be s3://BUCKET/FOLDER")
        };
        let (bucket, root) = rest.split_once('/').unwrap_or((rest, ""));
        let root = root.trim_matches('/');
        if bucket.is_empty() {
            bail!("\"{url}\" names no bucket; it would be s3://BUCKET/FOLDER");
        }
        // Whoever built the client first may have chosen; any choice serves.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let mut builder = AmazonS3Builder::new();
        let mut http = false;
        let mut given: Vec<String> = Vec::new();
        for (name, value) in variables.filter(|(name, _)| name.starts_with("AWS_")) {
            http |= name == "AWS_ALLOW_HTTP" && value == "true";
            given.push(name.clone());
            if let Ok(key) = name.to_ascii_lowercase().parse() {
                builder = builder.with_config(key, value);
            }
        }
        // Without keys the client would ask an address of the network for some, whoever answers there.
        let has = |name: &str| given.iter().any(|given| given == name);
        let keys = has("AWS_ACCESS_KEY_ID") && has("AWS_SECRET_ACCESS_KEY");
        if !keys && !ASKED_FOR.iter().any(|name| has(name)) {
            bail!(
                "there are no keys for {url}: set AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY (and AWS_SESSION_TOKEN, \
                 AWS_REGION, AWS_ENDPOINT where they are needed)"
            );
        }
        let options = ClientOptions::new()
            .with_timeout(Duration::from_secs(60))
            .with_connect_timeout(Duration::from_secs(5))
            .with_allow_http(http);
        let retry = RetryConfig { max_retries: 2, retry_timeout: Duration::from_secs(30), ..RetryConfig::default() };
        let store = builder
            .with_bucket_name(bucket)
            .with_client_options(options)
            .with_retry(retry)
            .build()
            .with_context(|| format!("opening {url}"))?;
        let root = if root.is_empty() { String::new() } else { format!("{root}/") };
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        Ok(Self { store, root, url: url.to_owned(), runtime, soon: HashMap::new() })
    }

    fn path(&self, name: &ObjectName) -> ObjectPath {
        ObjectPath::from(format!("{}{name}", self.root))
    }

    fn problem(&self, error: &object_store::Error, name: &ObjectName) -> TransportProblem {
        let place = self.url.clone();
        let what = in_words(&error.to_string());
        match error {
            object_store::Error::NotFound { .. } => TransportProblem::NotThere(name.to_string()),
            object_store::Error::PermissionDenied { .. } | object_store::Error::Unauthenticated { .. } => {
                TransportProblem::Refused { place, what }
            }
            _ => TransportProblem::Away { place, what },
        }
    }

    async fn fetch(&self, name: &ObjectName) -> Result<Vec<u8>, TransportProblem> {
        let found = self.store.get(&self.path(name)).await.map_err(|error| self.problem(&error, name))?;
        if found.meta.size > name.most_bytes() {
            // Not read at all: whatever it is, it is not what its name says.
            return Ok(vec![0; usize::try_from(name.most_bytes() + 1).unwrap_or(0)]);
        }
        Ok(found.bytes().await.map_err(|error| self.problem(&error, name))?.to_vec())
    }

    async fn create(&self, name: &ObjectName, bytes: &[u8]) -> Result<Hash, TransportProblem> {
        let put = |mode: PutMode| {
            let payload = PutPayload::from(bytes.to_vec());
            async move { self.store.put_opts(&self.path(name), payload, mode.into()).await }
        };
        match put(PutMode::Create).await {
            Ok(_) => {}
            Err(object_store::Error::AlreadyExists { .. } | object_store::Error::Precondition { .. }) => {
                let there = self.fetch(name).await?;
                if name.fits(&there) {
                    return Ok(Hash::of(&there));
                }
                // Not what its name says: nothing of worth is lost by putting the right bytes in its stead.
                put(PutMode::Overwrite).await.map_err(|error| self.problem(&error, name))?;
            }
            // A server without conditional writes. Names carry hashes, so two that write one name write the same.
            Err(object_store::Error::NotImplemented { .. } | object_store::Error::NotSupported { .. }) => {
                match self.fetch(name).await {
                    Ok(there) if name.fits(&there) => return Ok(Hash::of(&there)),
                    Ok(_) | Err(TransportProblem::NotThere(_)) => {}
                    Err(problem) => return Err(problem),
                }
                put(PutMode::Overwrite).await.map_err(|error| self.problem(&error, name))?;
            }
            Err(error) => return Err(self.problem(&error, name)),
        }
        Ok(Hash::of(&self.fetch(name).await?))
    }
}

impl Transport for Bucket {
    fn place(&self) -> String {
        self.url.clone()
    }

    fn list(&mut self, prefix: &str) -> Result<Vec<ObjectName>, TransportProblem> {
        let path = ObjectPath::from(format!("{}{prefix}", self.root));
        let listed = self.runtime.block_on(async {
            use futures_util::TryStreamExt;
            self.store.list(Some(&path)).try_collect::<Vec<_>>().await
        });
        let listed = listed
            .map_err(|error| TransportProblem::Away { place: self.url.clone(), what: in_words(&error.to_string()) })?;
        Ok(listed
            .iter()
            .filter_map(|meta| meta.location.as_ref().strip_prefix(&self.root)?.parse::<ObjectName>().ok())
            .collect())
    }

    fn get(&mut self, name: &ObjectName) -> Result<Vec<u8>, TransportProblem> {
        // Handed out once: who asks again doubts what came.
        match self.soon.remove(name) {
            Some(bytes) => Ok(bytes),
            None => self.runtime.block_on(self.fetch(name)),
        }
    }

    fn soon(&mut self, names: &[ObjectName]) {
        let all = futures_util::future::join_all(names.iter().map(|name| self.fetch(name)));
        let fetched = self.runtime.block_on(all);
        // What was told of before and never asked for is let go.
        self.soon = names.iter().zip(fetched).filter_map(|(name, got)| Some((*name, got.ok()?))).collect();
    }

    fn put(&mut self, name: &ObjectName, bytes: &[u8]) -> Result<Hash, TransportProblem> {
        self.runtime.block_on(self.create(name, bytes))
    }
}

impl Prune for Bucket {
    fn remove(&mut self, name: &ObjectName) -> Result<(), TransportProblem> {
        self.runtime.block_on(async {
            match self.store.delete(&self.path(name)).await {
                Ok(()) | Err(object_store::Error::NotFound { .. }) => Ok(()),
                Err(error) => Err(self.problem(&error, name)),
            }
        })
    }
}
