// What a picky pair of eyes and a clumsy thumb would check on a screen: names, sizes of what is touched, words that are cut,
// contrast. Contrast is measured on the drawn pixels, not on the palette.
@file:OptIn(ExperimentalTestApi::class)

package hangtrue.screens

import androidx.compose.ui.geometry.Rect
import androidx.compose.ui.graphics.ImageBitmap
import androidx.compose.ui.graphics.asSkiaBitmap
import androidx.compose.ui.graphics.toPixelMap
import androidx.compose.ui.semantics.Role
import androidx.compose.ui.semantics.SemanticsActions
import androidx.compose.ui.semantics.SemanticsNode
import androidx.compose.ui.semantics.SemanticsProperties
import androidx.compose.ui.semantics.getOrNull
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import androidx.compose.ui.test.isRoot
import androidx.compose.ui.text.TextLayoutResult
import java.io.File
import kotlin.math.pow
import org.jetbrains.skia.EncodedImageFormat
import org.jetbrains.skia.Image

/** A size of screen in dp. */
data class Glass(val name: String, val wide: Int, val high: Int)

/** A small phone, a usual one upright and on its side, a tablet upright and on its side. */
val glasses = listOf(
    Glass("small", 360, 640),
    Glass("phone", 411, 891),
    Glass("low", 640, 360),
    Glass("side", 891, 411),
    Glass("tablet", 800, 1280),
    Glass("wide", 1280, 800),
)

/** Pixels to a dp in pictures. */
const val DENSITY = 2f

/** Relative luminance of a colour (WCAG 2.2, "relative luminance"). */
fun luminance(argb: Int): Double {
    fun part(n: Int): Double {
        val c = n / 255.0
        return if (c <= 0.04045) c / 12.92 else ((c + 0.055) / 1.055).pow(2.4)
    }
    return 0.2126 * part(argb shr 16 and 255) + 0.7152 * part(argb shr 8 and 255) + 0.0722 * part(argb and 255)
}

/** Contrast ratio of two colours (WCAG 2.2, "contrast ratio"): 1 to 21. */
fun contrast(a: Int, b: Int): Double {
    val (low, high) = listOf(luminance(a), luminance(b)).sorted()
    return (high + 0.05) / (low + 0.05)
}

/** The merged nodes of what is composed, all below the roots. */
fun SkikoComposeUiTest.nodes(): List<SemanticsNode> {
    fun below(node: SemanticsNode): List<SemanticsNode> = listOf(node) + node.children.flatMap(::below)
    return onAllNodes(isRoot()).fetchSemanticsNodes().flatMap(::below)
}

/** What a screen reader would say of a node: its description, or else its words. */
fun SemanticsNode.said(): String = config.getOrNull(SemanticsProperties.ContentDescription)?.joinToString(" ")
    ?: config.getOrNull(SemanticsProperties.Text)?.joinToString(" ") { it.text }
    ?: ""

private fun SemanticsNode.isOff() = SemanticsProperties.Disabled in config

private fun SemanticsNode.canBePressed() = SemanticsActions.OnClick in config || SemanticsProperties.Role in config && isOff()

/** Every fault on the screen as it stands, in words; empty when there is none. */
fun SkikoComposeUiTest.faults(picture: ImageBitmap, laid: Collection<TextLayoutResult>): List<String> {
    val faults = mutableListOf<String>()
    val all = nodes()
    val window = Rect(0f, 0f, picture.width.toFloat(), picture.height.toFloat())
    for (node in all) {
        val what = "\"${node.said().take(60)}\""
        val (wide, high) = node.size.width / DENSITY to node.size.height / DENSITY
        if (node.canBePressed()) {
            if (node.said().isBlank()) faults += "something that can be pressed has no name at ${node.boundsInRoot}"
            val tag = node.config.getOrNull(SemanticsProperties.TestTag).orEmpty()
            val (least, least2) = when {
                tag.startsWith("digit_") -> 64f to 64f
                // fifteen in two rows across 360 dp: a little narrower than a finger's 48, and touching each other
                tag.startsWith("sixteenths_") || tag.startsWith("pair_") -> 44f to 48f
                else -> 48f to 48f
            }
            if (wide + 0.51f < least || high + 0.51f < least2) faults += "$what ($tag) is $wide x $high dp, wanted $least x $least2"
        }
        val seen = node.boundsInRoot
        if (seen.isEmpty) continue
        val whole = node.positionInRoot
        if (whole.x < -0.5f || whole.x + node.size.width > window.right + 0.5f) faults += "$what reaches past the edge: ${whole.x} + ${node.size.width} of ${window.right}"
        val isWhole = seen.height > node.size.height - 1
        if (isWhole && node.children.isEmpty() && node.said().isNotBlank() && !node.isOff()) {
            clearest(picture, seen)?.let { (ratio, colours) ->
                // a drawing's thinnest lines, and the edge of a line where nothing is written yet: WCAG asks 3:1 of graphics
                val graphic = node.config.getOrNull(SemanticsProperties.Role) == Role.Image || node.config.getOrNull(SemanticsProperties.EditableText)?.text?.isEmpty() == true
                val least = if (graphic) 3.0 else 7.0
                if (ratio < least) faults += "$what has a contrast of %.1f: %s".format(ratio, colours)
            }
        }
    }
    for (words in laid) {
        val text = words.layoutInput.text.text
        if (words.hasVisualOverflow) faults += "the words \"$text\" are cut: ${words.size} for ${words.multiParagraph.width} x ${words.multiParagraph.height}"
        val size = words.layoutInput.style.fontSize.value * words.layoutInput.density.fontScale
        if (size < 9f) faults += "the words \"$text\" are shrunk to %.1f dp".format(size)
    }
    return faults.distinct()
}

/**
 * The contrast of the clearest ink in a part of the picture against its commonest colour. Edges of letters are blended, so
 * the clearest ink that covers more than a few pixels is what the eye takes for the letter's colour. Nothing where too
 * little is seen to say.
 */
fun clearest(picture: ImageBitmap, part: Rect): Pair<Double, String>? {
    val (x, y) = maxOf(0, part.left.toInt()) to maxOf(0, part.top.toInt())
    val wide = minOf(part.right.toInt(), picture.width) - x
    val high = minOf(part.bottom.toInt(), picture.height) - y
    // a strip of what is scrolled half out of sight may show no letter at all
    if (wide < 24 || high < 36) return null
    val pixels = picture.toPixelMap(x, y, wide, high, IntArray(wide * high)).buffer
    val counts = pixels.toList().groupingBy { it }.eachCount()
    val (ground, _) = counts.maxBy { it.value }
    val ink = counts.filter { it.value >= 12 && it.key != ground }.maxByOrNull { contrast(it.key, ground) } ?: return null
    return contrast(ink.key, ground) to "%06x on %06x".format(ink.key and 0xffffff, ground and 0xffffff)
}

/** Writes a picture under `target/pictures`. */
fun ImageBitmap.write(name: String) {
    val file = File("target/pictures/$name.png")
    file.parentFile.mkdirs()
    file.writeBytes(Image.makeFromBitmap(asSkiaBitmap()).encodeToData(EncodedImageFormat.PNG)!!.bytes)
}

/** The tag of a node, if it has one. */
fun SemanticsNode.tag(): String? = config.getOrNull(SemanticsProperties.TestTag)
