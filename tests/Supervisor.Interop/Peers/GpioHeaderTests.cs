using System.Globalization;
using System.Runtime.Versioning;
using Supervisor.Bus.Gpio;

namespace Supervisor.Interop.Peers;

/// <summary>Every offset, size and number that GPIO uses against the kernel's own header, by its C compiler: <c>gpio_layout.c</c> prints what linux/gpio.h says.</summary>
[SupportedOSPlatform("linux")]
public sealed class GpioHeaderTests
{
    private static readonly Dictionary<string, ulong> Ours = new(StringComparer.Ordinal)
    {
        ["GPIO_MAX_NAME_SIZE"] = GpioAbi.NameSize,
        ["gpiochip_info"] = GpioAbi.ChipInfoSize,
        ["gpiochip_info.name"] = GpioAbi.ChipInfoName,
        ["gpiochip_info.label"] = GpioAbi.ChipInfoLabel,
        ["gpiochip_info.lines"] = GpioAbi.ChipInfoLines,
        ["gpio_v2_line_info"] = GpioAbi.LineInfoSize,
        ["gpio_v2_line_info.name"] = GpioAbi.LineInfoName,
        ["gpio_v2_line_info.consumer"] = GpioAbi.LineInfoConsumer,
        ["gpio_v2_line_info.offset"] = GpioAbi.LineInfoOffset,
        ["gpio_v2_line_info.flags"] = GpioAbi.LineInfoFlags,
        ["gpio_v2_line_request"] = GpioAbi.RequestSize,
        ["gpio_v2_line_request.offsets"] = GpioAbi.RequestOffsets,
        ["gpio_v2_line_request.consumer"] = GpioAbi.RequestConsumer,
        ["gpio_v2_line_request.config"] = GpioAbi.RequestConfig,
        ["gpio_v2_line_request.num_lines"] = GpioAbi.RequestLineCount,
        ["gpio_v2_line_request.event_buffer_size"] = GpioAbi.RequestEventBufferSize,
        ["gpio_v2_line_request.fd"] = GpioAbi.RequestDescriptor,
        ["gpio_v2_line_config"] = GpioAbi.ConfigSize,
        ["gpio_v2_line_config.flags"] = GpioAbi.ConfigFlags,
        ["gpio_v2_line_config.num_attrs"] = GpioAbi.ConfigAttributeCount,
        ["gpio_v2_line_config.attrs"] = GpioAbi.ConfigAttributes,
        ["gpio_v2_line_config_attribute"] = GpioAbi.AttributeSize,
        ["gpio_v2_line_config_attribute.attr.id"] = GpioAbi.AttributeId,
        ["gpio_v2_line_config_attribute.attr.values"] = GpioAbi.AttributeValue,
        ["gpio_v2_line_config_attribute.mask"] = GpioAbi.AttributeMask,
        ["gpio_v2_line_values"] = GpioAbi.ValuesSize,
        ["gpio_v2_line_values.bits"] = GpioAbi.ValuesBits,
        ["gpio_v2_line_values.mask"] = GpioAbi.ValuesMask,
        ["gpio_v2_line_event"] = GpioAbi.EventSize,
        ["gpio_v2_line_event.timestamp_ns"] = GpioAbi.EventTime,
        ["gpio_v2_line_event.id"] = GpioAbi.EventId,
        ["gpio_v2_line_event.offset"] = GpioAbi.EventOffset,
        ["gpio_v2_line_event.seqno"] = GpioAbi.EventSequence,
        ["gpio_v2_line_event.line_seqno"] = GpioAbi.EventLineSequence,
        ["GPIO_GET_CHIPINFO_IOCTL"] = GpioAbi.GetChipInfo,
        ["GPIO_V2_GET_LINEINFO_IOCTL"] = GpioAbi.GetLineInfo,
        ["GPIO_V2_GET_LINE_IOCTL"] = GpioAbi.GetLine,
        ["GPIO_V2_LINE_SET_CONFIG_IOCTL"] = GpioAbi.SetConfig,
        ["GPIO_V2_LINE_GET_VALUES_IOCTL"] = GpioAbi.GetValues,
        ["GPIO_V2_LINE_SET_VALUES_IOCTL"] = GpioAbi.SetValues,
        ["GPIO_V2_LINE_FLAG_USED"] = GpioAbi.FlagUsed,
        ["GPIO_V2_LINE_FLAG_ACTIVE_LOW"] = GpioAbi.FlagActiveLow,
        ["GPIO_V2_LINE_FLAG_INPUT"] = GpioAbi.FlagInput,
        ["GPIO_V2_LINE_FLAG_OUTPUT"] = GpioAbi.FlagOutput,
        ["GPIO_V2_LINE_FLAG_EDGE_RISING"] = GpioAbi.FlagEdgeRising,
        ["GPIO_V2_LINE_FLAG_EDGE_FALLING"] = GpioAbi.FlagEdgeFalling,
        ["GPIO_V2_LINE_FLAG_BIAS_PULL_UP"] = GpioAbi.FlagPullUp,
        ["GPIO_V2_LINE_FLAG_BIAS_PULL_DOWN"] = GpioAbi.FlagPullDown,
        ["GPIO_V2_LINE_FLAG_BIAS_DISABLED"] = GpioAbi.FlagBiasDisabled,
        ["GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES"] = GpioAbi.AttributeOutputValues,
        ["GPIO_V2_LINE_EVENT_RISING_EDGE"] = GpioAbi.EventRising,
        ["GPIO_V2_LINE_EVENT_FALLING_EDGE"] = GpioAbi.EventFalling,
    };

    [Fact]
    public void Layout_HeaderOfThisMachine_IsOurs()
    {
        Peer.Require(Peer.GpioHeader);
        var folder = Directory.CreateTempSubdirectory("gpio-layout-");
        try
        {
            Same(Compiled(folder.FullName, []));
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    [Fact]
    public void Layout_HeaderForThirtyTwoBits_IsTheSame()
    {
        Peer.Require(Peer.GpioHeader);
        var folder = Directory.CreateTempSubdirectory("gpio-layout-");
        try
        {
            // Only sizes are asked of the compiler: it needs no library of the other width to make an object, and none runs.
            var headers = $"/usr/include/{PeerProcess.Run("cc", ["-dumpmachine"]).Output.Trim()}";
            var (code, told) = PeerProcess.Run(
                "cc", ["-std=gnu11", "-m32", "-isystem", headers, "-DONLY_ASSERT", "-c", Source, "-o", Path.Combine(folder.FullName, "layout.o")]);
            Assert.SkipWhen(told.Contains("unrecognized", StringComparison.Ordinal), "This compiler makes nothing of 32 bits.");
            Assert.True(code == 0, told);
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private static string Source => Path.Combine(AppContext.BaseDirectory, "Peers", "Gpio", "gpio_layout.c");

    private static Dictionary<string, ulong> Compiled(string folder, string[] flags)
    {
        var program = Path.Combine(folder, "layout");
        var (code, errors) = PeerProcess.Run("cc", ["-std=gnu11", .. flags, "-o", program, Source]);
        Assert.True(code == 0, errors);
        var (ended, told) = PeerProcess.Run(program, []);
        Assert.Equal(0, ended);
        return told.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(line => line.Split(' '))
            .ToDictionary(parts => parts[0], parts => ulong.Parse(parts[1], CultureInfo.InvariantCulture));
    }

    private static void Same(Dictionary<string, ulong> theirs)
    {
        Assert.Equal(Ours.Keys.Order(StringComparer.Ordinal), theirs.Keys.Order(StringComparer.Ordinal));
        Assert.All(theirs, pair => Assert.Equal((pair.Key, pair.Value), (pair.Key, Ours[pair.Key])));
    }
}
