// What the plugin says of itself: the Gradle that it wants, and the newest Android that it was made for.
import com.android.SdkConstants;

class Known {
    public static void main(String[] none) {
        System.out.println("gradle=" + SdkConstants.GRADLE_LATEST_VERSION);
        System.out.println("newest=" + SdkConstants.MAX_SUPPORTED_ANDROID_PLATFORM_VERSION.getApiStringWithoutExtension());
    }
}
