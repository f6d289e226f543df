using System.Text;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

public sealed class Crc16Tests
{
    [Fact]
    public void Compute_SpecificationExample_IsItsValueLowByteFirst()
    {
        // MODBUS over Serial Line V1.02, appendix B: frame 02 07 gives 41 12 on the wire (value 1241h).
        Assert.Equal(0x1241, Crc16.Compute(Hex.Bytes("02 07")));
        Assert.Equal(Hex.Bytes("02 07 41 12"), Hex.WithCrc("02 07"));
    }

    [Fact]
    public void Compute_CheckString_IsThePublishedCheckValue() =>
        // CRC-16 of ASCII "123456789", computed from the published formula.
        Assert.Equal(0x4B37, Crc16.Compute(Encoding.ASCII.GetBytes("123456789")));

    [Fact]
    public void IsIntact_EveryGoldenFrame_IsTrue()
    {
        string[] frames = [.. GoldenFrames.Pairs.SelectMany(pair => new[] { pair.Data.Item1, pair.Data.Item2 }), GoldenFrames.ReadCoilsRequest, .. GoldenFrames.OtherRequests, .. GoldenFrames.OtherReplies, "01 2B 0E 01 00 70 77"];
        Assert.All(frames, frame => Assert.True(Crc16.IsIntact(Hex.Bytes(frame)), frame));
    }

    [Theory]
    [InlineData("")]
    [InlineData("01")]
    [InlineData("FF FF")]
    [InlineData("01 7E 80")]
    public void IsIntact_FewerThanFourBytes_IsFalse(string bytes) => Assert.False(Crc16.IsIntact(Hex.Bytes(bytes)));
}
