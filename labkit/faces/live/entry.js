export default { render() {} };
