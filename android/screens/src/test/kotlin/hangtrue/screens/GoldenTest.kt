// The comparison of pictures: it passes what no eye would see, and refuses one letter that is another.
@file:OptIn(ExperimentalTestApi::class)

package hangtrue.screens

import androidx.compose.foundation.background
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.ui.Modifier
import androidx.compose.ui.graphics.toPixelMap
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import androidx.compose.ui.unit.Density
import java.awt.image.BufferedImage
import kotlin.coroutines.EmptyCoroutineContext
import org.junit.jupiter.api.Assertions.assertEquals
import org.junit.jupiter.api.Assertions.assertNotNull
import org.junit.jupiter.api.Assertions.assertNull
import org.junit.jupiter.api.Test

class GoldenTest {
    private fun drawn(words: String): BufferedImage {
        lateinit var small: BufferedImage
        SkikoComposeUiTest(400, 160, EmptyCoroutineContext, Density(DENSITY)).runTest {
            setContent { Box(Modifier.fillMaxSize().background(look.ground)) { Words(words) } }
            val picture = captureToImage()
            small = shrunk(picture.width, picture.height, picture.toPixelMap().buffer)
        }
        return small
    }

    @Test
    fun `one digit that is another is seen`() {
        val was = drawn("Middle width 34 3/8")
        assertNull(unlike(was, drawn("Middle width 34 3/8")))
        assertNotNull(unlike(was, drawn("Middle width 34 5/8")))
        assertNotNull(unlike(was, drawn("")))
    }

    @Test
    fun `a shade of colour is not seen, another size is`() {
        val was = drawn("Middle width")
        val paler = BufferedImage(was.width, was.height, was.type)
        for (y in 0 until was.height) for (x in 0 until was.width) paler.setRGB(x, y, was.getRGB(x, y) and 0xf8f8f8)
        assertNull(unlike(was, paler))
        assertEquals("it is 100 x 39, other", unlike(was, was.getSubimage(0, 0, 100, 39)))
    }
}
