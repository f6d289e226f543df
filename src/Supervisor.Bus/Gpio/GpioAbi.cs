namespace Supervisor.Bus.Gpio;

/// <summary>Layout of the kernel's GPIO character-device interface, version 2 (linux/gpio.h): the same bytes on 32 and 64 bits, as every 64-bit member is aligned by hand.</summary>
/// <remarks>Checked by a C program against the header of the machine that tests. Little-endian machines only, as in <see cref="Links.LinuxNative.IsKnownArchitecture"/>.</remarks>
public static class GpioAbi
{
    /// <summary>Bytes of a name, the ending zero included.</summary>
    public const int NameSize = 32;

    /// <summary>struct gpiochip_info.</summary>
    public const int ChipInfoSize = 68;
    public const int ChipInfoName = 0;
    public const int ChipInfoLabel = 32;
    public const int ChipInfoLines = 64;

    /// <summary>struct gpio_v2_line_info.</summary>
    public const int LineInfoSize = 256;
    public const int LineInfoName = 0;
    public const int LineInfoConsumer = 32;
    public const int LineInfoOffset = 64;
    public const int LineInfoFlags = 72;

    /// <summary>struct gpio_v2_line_request.</summary>
    public const int RequestSize = 592;
    public const int RequestOffsets = 0;
    public const int RequestConsumer = 256;
    public const int RequestConfig = 288;
    public const int RequestLineCount = 560;
    public const int RequestEventBufferSize = 564;
    public const int RequestDescriptor = 588;

    /// <summary>struct gpio_v2_line_config, at <see cref="RequestConfig"/> of a request.</summary>
    public const int ConfigSize = 272;
    public const int ConfigFlags = 0;
    public const int ConfigAttributeCount = 8;
    public const int ConfigAttributes = 32;

    /// <summary>struct gpio_v2_line_config_attribute: an attribute and the lines (by bit) it is for.</summary>
    public const int AttributeSize = 24;
    public const int AttributeId = 0;
    public const int AttributeValue = 8;
    public const int AttributeMask = 16;

    /// <summary>struct gpio_v2_line_values.</summary>
    public const int ValuesSize = 16;
    public const int ValuesBits = 0;
    public const int ValuesMask = 8;

    /// <summary>struct gpio_v2_line_event.</summary>
    public const int EventSize = 48;
    public const int EventTime = 0;
    public const int EventId = 8;
    public const int EventOffset = 12;
    public const int EventSequence = 16;
    public const int EventLineSequence = 20;

    public const uint GetChipInfo = 0x8044B401;
    public const uint GetLineInfo = 0xC100B405;
    public const uint GetLine = 0xC250B407;
    public const uint SetConfig = 0xC110B40D;
    public const uint GetValues = 0xC010B40E;
    public const uint SetValues = 0xC010B40F;

    public const ulong FlagUsed = 1 << 0;
    public const ulong FlagActiveLow = 1 << 1;
    public const ulong FlagInput = 1 << 2;
    public const ulong FlagOutput = 1 << 3;
    public const ulong FlagEdgeRising = 1 << 4;
    public const ulong FlagEdgeFalling = 1 << 5;
    public const ulong FlagPullUp = 1 << 8;
    public const ulong FlagPullDown = 1 << 9;
    public const ulong FlagBiasDisabled = 1 << 10;

    public const uint AttributeOutputValues = 2;

    public const uint EventRising = 1;
    public const uint EventFalling = 2;
}
