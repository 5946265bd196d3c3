// Pictures that were looked at and found good, made small and kept beside the tests: a screen that is drawn otherwise shows
// as a fault until somebody has looked and renewed them with golden.sh.
package hangtrue.screens

import androidx.compose.ui.graphics.ImageBitmap
import androidx.compose.ui.graphics.toPixelMap
import java.awt.image.BufferedImage
import java.io.File
import javax.imageio.ImageIO
import kotlin.math.abs

/** So many pixels of a screen, each way, become one of a kept picture. */
private const val SHRINK = 4

/** A part of a colour may be off by this much of 255 before a pixel counts: edges of letters differ a little between machines. */
private const val SHADES = 40

/** So many pixels may be off; a single letter that is another one is more. */
private const val PIXELS = 8

private val kept = File("src/test/golden")

/**
 * What is seen otherwise in [picture] than in the kept one called [name], in words; nothing when they are alike. Where the
 * system property `golden` is `renew` it is kept instead.
 */
fun otherThanKept(picture: ImageBitmap, name: String): String? {
    val file = kept.resolve("$name.png")
    val small = shrunk(picture.width, picture.height, picture.toPixelMap().buffer)
    if (System.getProperty("golden") == "renew") {
        kept.mkdirs()
        ImageIO.write(small, "png", file)
        return null
    }
    if (!file.exists()) return "there is no kept picture $file: make it with android/golden.sh, and look at it"
    val says = unlike(ImageIO.read(file), small) ?: return null
    val seen = File("target/pictures/other/$name.png").apply { parentFile.mkdirs() }
    ImageIO.write(small, "png", seen)
    return "$says than in $file; $seen is how it looks now. If that is as it should be, run android/golden.sh"
}

/** Where two pictures are not alike, in words; nothing when they are. */
fun unlike(was: BufferedImage, now: BufferedImage): String? {
    if (was.width != now.width || was.height != now.height) return "it is ${now.width} x ${now.height}, other"
    val off = mutableListOf<Pair<Int, Int>>()
    for (y in 0 until was.height) for (x in 0 until was.width) {
        val (a, b) = was.getRGB(x, y) to now.getRGB(x, y)
        if (listOf(16, 8, 0).any { abs((a shr it and 255) - (b shr it and 255)) > SHADES }) off += x to y
    }
    if (off.size <= PIXELS) return null
    val (xs, ys) = off.map { it.first } to off.map { it.second }
    return "${off.size} pixels between ${xs.min()},${ys.min()} and ${xs.max()},${ys.max()} are drawn otherwise"
}

/** A picture made small: each pixel is the mean of a square of them, in sixteen steps of each colour to keep the files small. */
fun shrunk(wide: Int, high: Int, pixels: IntArray): BufferedImage {
    val small = BufferedImage(wide / SHRINK, high / SHRINK, BufferedImage.TYPE_INT_RGB)
    for (y in 0 until small.height) for (x in 0 until small.width) {
        val square = (0 until SHRINK * SHRINK).map { pixels[(y * SHRINK + it / SHRINK) * wide + x * SHRINK + it % SHRINK] }
        fun mean(shift: Int) = (square.sumOf { it shr shift and 255 } / square.size shr 4) * 17
        small.setRGB(x, y, mean(16) shl 16 or (mean(8) shl 8) or mean(0))
    }
    return small
}
