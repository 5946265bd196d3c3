// The platform's own HTTPS client, as the core asks for it: one certificate and no other, TLS 1.3, no proxy, no redirect.
package hangtrue.screens

import hangtrue.core.HttpFault
import hangtrue.core.HubAnswer
import hangtrue.core.HubHttp
import hangtrue.core.HubRequest
import java.io.ByteArrayOutputStream
import java.io.IOException
import java.io.InputStream
import java.net.InetAddress
import java.net.Proxy
import java.net.Socket
import java.net.URL
import java.security.GeneralSecurityException
import java.security.MessageDigest
import java.security.cert.CertificateException
import java.security.cert.X509Certificate
import java.util.concurrent.ConcurrentHashMap
import javax.net.ssl.HttpsURLConnection
import javax.net.ssl.SSLContext
import javax.net.ssl.SSLEngine
import javax.net.ssl.SSLSocket
import javax.net.ssl.SSLSocketFactory
import javax.net.ssl.X509ExtendedTrustManager

/** Sends the core's requests to the workroom's hub. */
class PinnedHttp : HubHttp {
    private val sockets = ConcurrentHashMap<String, SSLSocketFactory>()

    override fun send(request: HubRequest): HubAnswer {
        val until = System.nanoTime() + request.seconds.toLong() * 1_000_000_000
        val connection = URL(request.url).openConnection(Proxy.NO_PROXY) as HttpsURLConnection
        try {
            try {
                connection.sslSocketFactory = sockets.getOrPut(request.certificateSha256) { pinned(request.certificateSha256) }
                // the certificate is known byte for byte, so the name on it says nothing more
                connection.setHostnameVerifier { _, _ -> true }
                connection.instanceFollowRedirects = false
                connection.useCaches = false
                connection.connectTimeout = REACH_MS
                connection.readTimeout = left(until)
                connection.requestMethod = request.method
                request.headers.forEach { connection.setRequestProperty(it.name, it.value) }
                // a connection that was kept and meanwhile cut would look like an answer that broke off
                connection.setRequestProperty("Connection", "close")
                if (request.method != "GET") {
                    connection.doOutput = true
                    connection.setFixedLengthStreamingMode(request.body.size)
                }
                connection.connect()
            } catch (fault: IOException) {
                throw HttpFault.NotReached(told(fault))
            } catch (_: GeneralSecurityException) {
                throw HttpFault.NotReached("this device does not speak TLS 1.3, which Android does from 10 on")
            }
            try {
                if (request.method != "GET") connection.outputStream.use { it.write(request.body) }
                val status = connection.responseCode
                val body = (if (status < 400) connection.inputStream else connection.errorStream)?.use { read(it, request.most.toLong() + 1, until) }
                return HubAnswer(status.toUShort(), body ?: ByteArray(0))
            } catch (fault: IOException) {
                throw HttpFault.BrokenOff(told(fault))
            }
        } finally {
            connection.disconnect()
        }
    }

    private fun read(from: InputStream, most: Long, until: Long): ByteArray {
        val into = ByteArrayOutputStream()
        val piece = ByteArray(1 shl 16)
        while (into.size() < most) {
            left(until)
            val got = from.read(piece, 0, minOf(piece.size.toLong(), most - into.size()).toInt())
            if (got < 0) break
            into.write(piece, 0, got)
        }
        return into.toByteArray()
    }

    private fun left(until: Long): Int {
        val ms = (until - System.nanoTime()) / 1_000_000
        if (ms <= 0) throw IOException("the answer took too long")
        return ms.coerceAtMost(Int.MAX_VALUE.toLong()).toInt()
    }

    private fun told(fault: IOException): String = generateSequence<Throwable>(fault) { it.cause }.last().let { it.message ?: it.toString() }

    private companion object {
        /** An address where nobody listens is given up after this, for the next one. */
        const val REACH_MS = 10_000
    }
}

private fun pinned(sha256: String): SSLSocketFactory {
    val context = SSLContext.getInstance("TLSv1.3")
    context.init(null, arrayOf(OneCertificate(sha256)), null)
    return Only13(context.socketFactory)
}

/** Trusts the one certificate with this hash, whatever name or date it bears, and no authority. */
@Suppress("CustomX509TrustManager") // stricter than the system's own: one certificate, known byte for byte
private class OneCertificate(private val sha256: String) : X509ExtendedTrustManager() {
    override fun checkServerTrusted(chain: Array<out X509Certificate>, authType: String?) {
        val shown = MessageDigest.getInstance("SHA-256").digest(chain[0].encoded).joinToString("") { "%02x".format(it) }
        if (shown != sha256) throw CertificateException("it shows another certificate than the workroom's")
    }

    override fun checkServerTrusted(chain: Array<out X509Certificate>, authType: String?, socket: Socket?) = checkServerTrusted(chain, authType)

    override fun checkServerTrusted(chain: Array<out X509Certificate>, authType: String?, engine: SSLEngine?) = checkServerTrusted(chain, authType)

    override fun checkClientTrusted(chain: Array<out X509Certificate>, authType: String?) = nobody()

    override fun checkClientTrusted(chain: Array<out X509Certificate>, authType: String?, socket: Socket?) = nobody()

    override fun checkClientTrusted(chain: Array<out X509Certificate>, authType: String?, engine: SSLEngine?) = nobody()

    override fun getAcceptedIssuers(): Array<X509Certificate> = emptyArray()

    private fun nobody(): Nothing = throw CertificateException("this is no server")
}

/** Sockets that speak TLS 1.3 and nothing older. */
private class Only13(private val inner: SSLSocketFactory) : SSLSocketFactory() {
    private fun only(socket: Socket) = (socket as SSLSocket).apply { enabledProtocols = arrayOf("TLSv1.3") }

    override fun getDefaultCipherSuites(): Array<String> = inner.defaultCipherSuites

    override fun getSupportedCipherSuites(): Array<String> = inner.supportedCipherSuites

    override fun createSocket(): Socket = only(inner.createSocket())

    override fun createSocket(socket: Socket?, host: String?, port: Int, autoClose: Boolean): Socket = only(inner.createSocket(socket, host, port, autoClose))

    override fun createSocket(host: String?, port: Int): Socket = only(inner.createSocket(host, port))

    override fun createSocket(host: String?, port: Int, local: InetAddress?, localPort: Int): Socket = only(inner.createSocket(host, port, local, localPort))

    override fun createSocket(host: InetAddress?, port: Int): Socket = only(inner.createSocket(host, port))

    override fun createSocket(host: InetAddress?, port: Int, local: InetAddress?, localPort: Int): Socket = only(inner.createSocket(host, port, local, localPort))
}
