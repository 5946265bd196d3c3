// The app as it ships, shrunk by R8, started by Robolectric over the core's library of this machine. It is driven and read only
// through what Android itself offers a screen reader, because the names of all else are gone: a house is begun, a reading is
// typed and kept, the screen is drawn, and a second start finds the reading in the book. shrink.sh runs it.
import static org.junit.Assert.assertTrue;
import static org.robolectric.Shadows.shadowOf;

import android.app.Activity;
import android.graphics.Bitmap;
import android.graphics.Canvas;
import android.os.Bundle;
import android.os.Looper;
import android.view.View;
import android.view.ViewGroup;
import android.view.accessibility.AccessibilityNodeInfo;
import java.io.File;
import java.io.FileOutputStream;
import java.time.Duration;
import java.util.ArrayList;
import java.util.HashSet;
import java.util.List;
import java.util.Set;
import java.util.function.Predicate;
import org.junit.Test;
import org.junit.runner.RunWith;
import org.robolectric.Robolectric;
import org.robolectric.RobolectricTestRunner;
import org.robolectric.android.controller.ActivityController;
import org.robolectric.annotation.Config;
import org.robolectric.annotation.GraphicsMode;

@RunWith(RobolectricTestRunner.class)
@Config(sdk = 35, qualifiers = "w411dp-h1600dp-xhdpi")
@GraphicsMode(GraphicsMode.Mode.NATIVE)
public class Shrunk {
    private static final int MOST_IDS = 6000;
    private ActivityController<? extends Activity> app;

    @Test
    public void theShrunkAppStartsReadsAndRemembers() throws Exception {
        start();
        write("Larch House");
        for (String name : new String[] {"Begin in inches", "add Kitchen", "add Window", "three", "four", "three eighths"}) press(name);
        press("keep thirty-four and three eighths inches");
        await("the next place", said -> said.startsWith("Middle width"));
        draw("shrunk-walk");
        press("five");
        app.pause().stop().destroy();
        start();
        await("what was typed before", said -> said.startsWith("five inches"));
        app.pause().stop().destroy();
    }

    private void start() throws Exception {
        Class<? extends Activity> main = Class.forName("hangtrue.app.MainActivity").asSubclass(Activity.class);
        app = Robolectric.buildActivity(main).setup();
    }

    private void press(String name) throws Exception {
        await(name, name::equals);
        act(name, node -> name.equals(said(node)), AccessibilityNodeInfo.ACTION_CLICK, null);
    }

    /** Writes on the one line there is to write on. */
    private void write(String text) throws Exception {
        await("Houses", "Houses"::equals);
        Bundle words = new Bundle();
        words.putCharSequence(AccessibilityNodeInfo.ACTION_ARGUMENT_SET_TEXT_CHARSEQUENCE, text);
        act("a line to write on", AccessibilityNodeInfo::isEditable, AccessibilityNodeInfo.ACTION_SET_TEXT, words);
        await(text, text::equals);
    }

    private void act(String name, Predicate<AccessibilityNodeInfo> fits, int action, Bundle words) {
        for (int id = 0; id < MOST_IDS; id++) {
            AccessibilityNodeInfo node = node(id);
            if (node != null && fits.test(node) && screen().getAccessibilityNodeProvider().performAction(id, action, words)) return;
        }
        throw new AssertionError(name + " takes no such action; there is: " + all());
    }

    /** Waits until something that is said fits: the core answers on a thread of its own. */
    private void await(String what, Predicate<String> fits) throws Exception {
        long until = System.nanoTime() + 180_000_000_000L;
        do {
            shadowOf(Looper.getMainLooper()).idleFor(Duration.ofMillis(20));
            // what is laid out anew is so when it is drawn
            app.get().getWindow().getDecorView().draw(new Canvas(Bitmap.createBitmap(1, 1, Bitmap.Config.ARGB_8888)));
            for (String said : all()) if (fits.test(said)) return;
            Thread.sleep(20);
        } while (System.nanoTime() < until);
        draw("shrunk-fault");
        throw new AssertionError(what + " is not there; there is: " + all());
    }

    private List<String> all() {
        List<String> all = new ArrayList<>();
        for (int id = 0; id < MOST_IDS; id++) {
            AccessibilityNodeInfo node = node(id);
            if (node != null && said(node) != null) all.add(said(node));
        }
        return all;
    }

    private AccessibilityNodeInfo node(int id) {
        View screen = screen();
        return screen == null ? null : screen.getAccessibilityNodeProvider().createAccessibilityNodeInfo(id);
    }

    private static String said(AccessibilityNodeInfo node) {
        CharSequence said = node.getContentDescription() != null ? node.getContentDescription() : node.getText();
        return said == null ? null : said.toString();
    }

    private View screen() {
        return screenIn(app.get().getWindow().getDecorView());
    }

    private static View screenIn(View view) {
        if (view.getAccessibilityNodeProvider() != null) return view;
        if (view instanceof ViewGroup group) for (int n = 0; n < group.getChildCount(); n++) {
            View found = screenIn(group.getChildAt(n));
            if (found != null) return found;
        }
        return null;
    }

    private void draw(String name) throws Exception {
        View view = app.get().getWindow().getDecorView();
        Bitmap picture = Bitmap.createBitmap(view.getWidth(), view.getHeight(), Bitmap.Config.ARGB_8888);
        view.draw(new Canvas(picture));
        try (FileOutputStream out = new FileOutputStream(new File(System.getProperty("pictures"), name + ".png"))) {
            picture.compress(Bitmap.CompressFormat.PNG, 100, out);
        }
        Set<Integer> colours = new HashSet<>();
        for (int y = 0; y < picture.getHeight(); y += 8) for (int x = 0; x < picture.getWidth(); x += 8) colours.add(picture.getPixel(x, y));
        assertTrue(name + " is blank", colours.size() > 4);
    }
}
